"""The holding stands, or is, other than the sheet says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from setwright.geometry.bodies import Body, BodyRole, BoxShape, CylinderShape
from setwright.geometry.frames import shifted
from setwright.kit.placement import Placement
from setwright.kit.station import Kit
from setwright.model.holding import Against
from setwright.slips.case import SlipCase
from setwright.slips.catalogue import Way, scalable, slip
from setwright.slips.changes import Change, reset
from setwright.slips.world import Triple, World, holding_moved, part_moved, part_turned, set_up_as

_LEAST_MM = 0.5


@slip("holding-moved", rate=0.004, per="a setup", by_hand="holding", spread=3.0)
def _holding_moved(case: SlipCase) -> Iterator[Way]:
    """The holding was taken off or moved after the zero was set.

    What happens
        The vise was turned out of the way for another job and set back, or its bolts were not tight.

    What it changes
        Part and holding stand elsewhere on the table; as far off as the holding's place is known, along X or Y, either way.

    How often
        Once or twice in a thousand setups.

    Where it can occur
        Setups whose zero is kept.

    What gives it away
        The finder on the datum; the tip over the zero.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    least = max(case.kit.placement.varies, _LEAST_MM)
    for axis in (0, 1):
        for sign in (-1, 1):

            def at(times: float, axis: int = axis, sign: int = sign) -> Way:
                off = least * times
                by = case.along(axis, sign * off)
                words = f"the holding stands {case.length(off)} too far {'+' if sign > 0 else '-'}{'XY'[axis]}: it was moved since"
                return Way(words, 1.0 / 4, "holding", "set the zero anew", lambda world: holding_moved(world, by), sign * off)

            yield scalable(at)


_TIMES = 10.0


_ANY_RAD = 0.003


@slip("holding-not-true", rate=0.004, per="a setup", by_hand="holding", spread=2.5)
def _holding_not_true(case: SlipCase) -> Iterator[Way]:
    """The vise or plate was not trued up.

    What happens
        It was set down by eye, or a chip lies at its key.

    What it changes
        The part is turned against the axes; here by ten times what a trued one may be out, or 3 mrad, either way.

    How often
        Some times in a thousand setups whose holding was put on.

    Where it can occur
        Every setup.

    What gives it away
        An indicator along the fixed jaw or the part's long side.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    vise = case.kit.folder.job.shop.holding[case.kit.setup.holding.use].vise
    angle = _TIMES * vise.tram if vise is not None and vise.tram > 0.0 else _ANY_RAD

    def over(turn: float) -> str:
        inch = case.kit.folder.units == "in"
        return f"{10.0 * abs(turn):.4f} in over 10 in" if inch else f"{1000.0 * abs(turn):.1f} mm in a metre"

    for sign in (-1, 1):

        def at(times: float, sign: int = sign) -> Way:
            turn, way = sign * angle * times, "counter-clockwise" if sign > 0 else "clockwise"
            words = f"the part is turned {way} by {1000.0 * abs(turn):.1f} mrad, {over(turn)}"
            return Way(words, 1.0 / 2, "holding", "true the fixed jaw with an indicator", lambda world: part_turned(world, turn))

        yield scalable(at)


_OFF_MM = 5.0


@slip("stop-moved", rate=0.0015, per="a setup", by_hand="part", spread=2.5)
def _stop_moved(case: SlipCase) -> Iterator[Way]:
    """The stop was moved after the zero was set.

    What happens
        Somebody knocked against the stop, or used it for another part.

    What it changes
        Every part sits off along the jaws; here by 5 mm, either way.

    How often
        Once or twice in a thousand setups.

    Where it can occur
        Setups with an end stop whose zero is kept.

    What gives it away
        The finder on the face at the stop.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    stop = case.kit.setup.holding.end_stop
    if stop is None:
        return
    axis = 0 if stop.against in ("left", "right") else 1
    for sign in (-1, 1):

        def at(times: float, sign: int = sign) -> Way:
            off = sign * _OFF_MM * times
            words = f"the stop stands {case.length(abs(off))} too far {'+' if sign > 0 else '-'}{'XY'[axis]}, and the part with it"
            return Way(words, 1.0 / 2, "stop", f"touch “{case.kit.setup.datum.x}” anew", _with_stop(case.along(axis, off)), off)

        yield scalable(at)


def _with_stop(by: Triple) -> Change:
    """The part elsewhere with its end stop."""

    def change(world: World) -> World:
        moved = part_moved(world, by)
        back = shifted(*by)
        bodies = tuple(body.moved(back) if body.name == "end stop" else body for body in moved.kit.placement.bodies)
        return replace(moved, kit=replace(moved.kit, placement=replace(moved.kit.placement, bodies=bodies)))

    return change


_HIGHER_MM = 10.0


def _higher(body: Body, top: float, by: float) -> Body:
    """A box or cylinder that stands above the part, taller at its upper end; a mesh is moved up."""
    if body.role is not BodyRole.HOLDING or float(body.bounds()[1][2]) <= top:
        return body
    shape = body.shape
    if isinstance(shape, BoxShape):
        x, y, z = shape.high
        return replace(body, shape=replace(shape, high=(x, y, z + by)))
    if isinstance(shape, CylinderShape):
        return replace(body, shape=replace(shape, top=shape.top + by))
    return body.moved(shifted(0.0, 0.0, by))


@slip("clamp-higher", rate=0.01, per="a setup", by_hand="holding", spread=2.0)
def _clamp_higher(case: SlipCase) -> Iterator[Way]:
    """A clamp or strap stands higher than the sheet says.

    What happens
        A longer stud, a second nut, a thicker strap: whatever was at hand.

    What it changes
        Everything of the holding that stands above the part is higher; here by 10 mm.

    How often
        Some times in a hundred setups with loose clamps.

    Where it can occur
        Setups with clamps, straps, studs above the part.

    What gives it away
        The height over the part, by a rule.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    top = float(case.kit.extent[1][2])
    if not any(body.role is BodyRole.HOLDING and float(body.bounds()[1][2]) > top for body in case.kit.placement.bodies):
        return

    def at(times: float) -> Way:
        by = _HIGHER_MM * times

        def change(world: World) -> World:
            bodies = tuple(_higher(body, top, by) for body in world.kit.placement.bodies)
            return replace(world, kit=replace(world.kit, placement=replace(world.kit.placement, bodies=bodies)))

        words = f"what holds the part from above stands {case.length(by)} higher"
        return Way(words, 1.0, "clamps", "take the studs and nuts of the sheet", change, by)

    yield scalable(at)


@slip("jaws-higher", rate=0.003, per="a setup", by_hand="holding", spread=2.0)
def _jaws_higher(case: SlipCase) -> Iterator[Way]:
    """Higher jaws are on the vise.

    What happens
        The jaws of another job were left on; parallels and part lie as they should.

    What it changes
        The jaws reach farther up beside the part; here 10 mm.

    How often
        Once in some hundred setups in a shop with several sets of jaws.

    Where it can occur
        Setups in a vise.

    What gives it away
        The height of the part over the jaws, by a rule.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    holding = case.kit.folder.job.shop.holding[case.kit.setup.holding.use]
    vise = holding.vise
    if vise is None:
        return

    def at(times: float) -> Way:
        by = _HIGHER_MM * times
        changed = holding.model_copy(update={"vise": vise.model_copy(update={"jaw_height": vise.jaw_height + by})})
        words = f"the jaws are {case.length(vise.jaw_height + by)} high instead of {case.length(vise.jaw_height)}"
        return Way(words, 1.0, "jaws", "put the right jaws on", lambda world: set_up_as(world, world.kit.setup, holding=changed),
                   by, rebuilds=True)  # fmt: skip

    yield scalable(at)


_OTHER = {"back": "front", "front": "back", "left": "right", "right": "left"}


def _same_place(there: Kit, before: Kit) -> Placement:
    """The bodies of one kit with the part where it is in the other; the table stays in the machine."""
    table = [body for body in before.placement.bodies if body.role is BodyRole.TABLE]
    rest = [body for body in there.placement.bodies if body.role is not BodyRole.TABLE]
    return replace(before.placement, bodies=(*rest, *table))


@slip("jaw-changed-over", rate=0.001, per="a setup", by_hand="holding")
def _jaw_changed_over(case: SlipCase) -> Iterator[Way]:
    """The vise stands the other way round: fixed jaw and moving jaw are exchanged.

    What happens
        The vise was turned about for another job; the part sits against the other jaw.

    What it changes
        Vise body and jaws lie on the other side; the part's place follows its size.

    How often
        Once in a thousand setups.

    Where it can occur
        Setups in a vise.

    What gives it away
        A look.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    setup = case.kit.setup
    jaw = setup.holding.fixed_jaw
    against = jaw.against if jaw is not None else "back"
    if case.in_vise and against in _OTHER:
        other = (jaw or Against(against="back")).model_copy(update={"against": _OTHER[against]})
        turned = setup.model_copy(update={"holding": setup.holding.model_copy(update={"fixed_jaw": other})})

        def change(world: World) -> World:
            there = set_up_as(world, turned)
            return replace(there, truth=world.truth, kit=replace(there.kit, placement=_same_place(there.kit, world.kit)))

        words = f"the fixed jaw is at the {_OTHER[against]} instead of the {against}"
        yield Way(words, 1.0, "vise", "turn the vise about and set the zero anew", change, rebuilds=True)


@slip("other-parallels", rate=0.01, per="a setup", by_hand="holding")
def _other_parallels(case: SlipCase) -> Iterator[Way]:
    """The part lies on parallels of another height.

    What happens
        The pair of the job's other setup is in the vise, or none at all. Z is set on the part as it lies.

    What it changes
        The part stands higher or lower in the jaws; the tools come down to the jaws, or less is gripped.

    How often
        Some times in a hundred setups in a shop with one drawer of parallels.

    Where it can occur
        Setups in a vise on parallels.

    What gives it away
        The height of the part over the jaws, by a rule; the number on the parallels.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    setup = case.kit.setup
    if not case.in_vise or setup.holding.parallels <= 0.0:
        return
    others = [other.holding.parallels for other in case.kit.folder.job.setup if other.name != setup.name]
    heights = [height for height in dict.fromkeys([*others, 0.0]) if height != setup.holding.parallels and height < case.jaw_height]
    for height in heights:
        up = height - setup.holding.parallels
        holding = setup.holding.model_copy(update={"parallels": height})
        laid = reset(setup.model_copy(update={"holding": holding}))
        along = case.height_off(up)

        def found(world: World, laid: Change = laid, along: Change = along) -> World:
            return along(laid(world))

        words = f"the part lies on parallels of {case.length(height)} instead of {case.length(setup.holding.parallels)}"
        remedy = f"take parallels of {case.length(setup.holding.parallels)}"
        share = 1.0 / (2 * len(heights))
        yield Way(f"{words}, Z was set on it so", share, "parallels", remedy, found, up, rebuilds=True)
        yield Way(f"{words}, Z was set before", share, "parallels", remedy, laid, up, rebuilds=True)
