"""The blank is, or lies, other than the sheet says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from setwright.slips.case import SlipCase
from setwright.slips.catalogue import Way, scalable, slip
from setwright.slips.changes import blank_grown, blank_turned
from setwright.slips.world import World, part_moved


@slip("blank-too-large", rate=0.01, per="a blank", by_hand="blank", spread=2.0)
def _blank_too_large(case: SlipCase) -> Iterator[Way]:
    """The blank is larger than stated.

    What happens
        It was sawn with a generous hand, or comes from the next bar.

    What it changes
        More metal stands where the tool comes in; here twice the stated allowance on top, and three times what the saw may leave at
        the end away from the stop.

    How often
        Once in a hundred blanks.

    Where it can occur
        Sawn blanks: boxes and cylinders.

    What gives it away
        The caliper on the blank.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    setup = case.kit.setup
    allowance = max(setup.datum.z.is_, 3.0 * setup.blank.varies[2])
    ways = [(axis, 3.0 * setup.blank.varies[axis]) for axis in (0, 1) if setup.blank.varies[axis] > 0.0]
    ways += [(2, allowance)] if allowance > 0.0 else []
    yield from _of_other_size(case, ways, ("longer along X", "longer along Y", "higher"), "take off what is too much")


@slip("blank-too-small", rate=0.01, per="a blank", by_hand="blank", spread=2.0)
def _blank_too_small(case: SlipCase) -> Iterator[Way]:
    """The blank is smaller than stated.

    What happens
        The saw ran off, or the allowance was used up by a crooked cut.

    What it changes
        Faces that should be cut stay raw; here three times what the saw may leave, at the end away from the stop and on top.

    How often
        Once in a hundred blanks.

    Where it can occur
        Sawn blanks: boxes and cylinders.

    What gives it away
        The caliper on the blank.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    varies = case.kit.setup.blank.varies
    ways = [(axis, -3.0 * varies[axis]) for axis in (0, 1, 2) if varies[axis] > 0.0]
    yield from _of_other_size(case, ways, ("shorter along X", "shorter along Y", "lower"), "take another")


def _of_other_size(case: SlipCase, ways: Sequence[tuple[int, float]], said: tuple[str, str, str], remedy: str) -> Iterator[Way]:
    """The blank longer (or, negative, shorter) along an axis."""
    for axis, by in ways if case.kit.blank is not None else ():

        def at(times: float, axis: int = axis, by: float = by) -> Way:
            change = blank_grown(case.world, axis, by * times)
            if change is None:
                raise AssertionError("a blank that is there can be of another size")
            words = f"the blank is {case.length(abs(by * times))} {said[axis]} than stated"
            return Way(words, 1.0 / len(ways), "blank", f"measure the blank, {remedy}", change, by * times)

        yield scalable(at)


_WAYS = (("end for end", "z"), ("upside down over its long side", "x"), ("upside down over its short side", "y"))


@slip("blank-lies-otherwise", rate=0.008, per="a clamping", by_hand="blank")
def _blank_lies_otherwise(case: SlipCase) -> Iterator[Way]:
    """The blank lies turned end for end, or upside down.

    What happens
        Nothing marks which way it goes, and it fits in the holding either way.

    What it changes
        What is already on the part lies elsewhere.

    How often
        Once in a hundred clampings of parts that nearly look alike both ways.

    Where it can occur
        Blanks that an earlier setup left, castings; a sawn box or bar looks the same either way.

    What gives it away
        A look at the part beside the drawing of the setup.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    ways = [(words, change) for words, about in _WAYS if (change := blank_turned(case.world, about, words)) is not None]
    for words, change in ways:
        yield Way(f"the blank lies {words}", 1.0 / len(ways), "blank",
                  "lay the blank as the sheet shows", change)  # fmt: skip


_LIFT_MM = 0.3


@slip("part-lifted", rate=0.01, per="a clamping", by_hand="part", spread=3.0)
def _part_lifted(case: SlipCase) -> Iterator[Way]:
    """The part is lifted when the jaws close, after Z was set.

    What happens
        The moving jaw lifts the part off its parallels as it tightens; the zero was set on the part before, or on the one before
        it.

    What it changes
        The part stands higher than the control believes; here 0.3 mm. Everything comes out deeper from the top.

    How often
        Once in fifty clampings that nobody taps down.

    Where it can occur
        Setups in a vise.

    What gives it away
        The parallels can be moved by hand; the tip over the top face, against a block.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    if case.in_vise:

        def at(times: float) -> Way:
            lift = _LIFT_MM * times
            words = f"the part stands {case.length(lift)} off its parallels, and Z was set before"
            return Way(words, 1.0, "part", "tap the part down until the parallels are tight, set Z anew",
                       lambda world: part_moved(world, (0.0, 0.0, lift)), lift)  # fmt: skip

        yield scalable(at)


_CHIP_MM = 0.2


@slip("chip-under-part", rate=0.008, per="a clamping", by_hand="part", spread=2.0)
def _chip_under_part(case: SlipCase) -> Iterator[Way]:
    """A chip lies under the part when Z is set on it.

    What happens
        The parallels or rests were not wiped; the zero is set on the top, so the top is right.

    What it changes
        The part stands higher over the holding; what is measured from its underside comes out thinner, here by 0.2 mm. On a chip
        under one corner its top leans as well, so that what is cut from the top is not parallel to its underside.

    How often
        Once in fifty clampings.

    Where it can occur
        Setups whose part lies on something.

    What gives it away
        The parallels can be moved by hand; the part rocks when tapped. Touch sees a top that leans where three heights of it were
        touched.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    def at(times: float) -> Way:
        chip = _CHIP_MM * times
        up = case.height_off(chip)

        def change(world: World) -> World:
            return up(part_moved(world, (0.0, 0.0, chip)))

        words = f"the part stands {case.length(chip)} too high on a chip, and Z was set on it so"
        return Way(words, 1.0, "part", "take the part out, wipe, clamp it anew", change, chip)

    yield scalable(at)


_OFF_MM = (0.5, 2.0)


_AWAY = {"left": (1.0, 0.0), "right": (-1.0, 0.0), "front": (0.0, 1.0), "back": (0.0, -1.0)}


@slip("not-against-stop", rate=0.008, per="a clamping", by_hand="part", spread=2.0)
def _not_against_stop(case: SlipCase) -> Iterator[Way]:
    """The part does not sit against its stop.

    What happens
        A chip between part and stop, or the part slid as the jaws closed. The zero was set on the part before.

    What it changes
        The part stands off along the jaws; here 0.5 mm by a chip and slip, or 2 mm because nobody pushed.

    How often
        Once in a hundred clampings.

    Where it can occur
        Setups with an end stop, from the second part on, or when the zero is kept from the last time.

    What gives it away
        A feeler at the stop; the finder on that face.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    stop = case.kit.setup.holding.end_stop
    if stop is None or stop.against not in _AWAY:
        return
    x, y = _AWAY[stop.against]
    for stated in _OFF_MM:

        def at(times: float, stated: float = stated) -> Way:
            off = stated * times
            words = f"the part stands {case.length(off)} off its stop, and the zero was set before"
            return Way(words, 1.0 / len(_OFF_MM), "part", "push the part against its stop, clamp it anew",
                       lambda world: part_moved(world, (x * off, y * off, 0.0)), off)  # fmt: skip

        yield scalable(at)


@slip("part-not-to-size", rate=0.003, per="a setup", spread=2.0, either_way=True, by_hand="readings")
def _part_not_to_size(case: SlipCase) -> Iterator[Way]:
    """A width, bore or face of the part is not where the job says.

    What happens
        An earlier operation was left out of its limits, or another part lies there.

    What it changes
        What is reckoned from that face or bore is off by as much.

    How often
        Some times in a thousand setups.

    Where it can occur
        Wherever the zero rests on a size of the part. Touch sees it in readings of both sides; the study follows a blank of another
        size (blank-too-large, blank-too-small).

    What gives it away
        The caliper on the part.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    del case
    yield from ()
