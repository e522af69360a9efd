"""The files of a drafted job: job.toml and its shop folder, every guess beside its value."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence

from setwright.model.job import Guess
from setwright.model.tool import Tool
from setwright.program.infer import Evidence as SettledBehaviour
from setwright.program.readings import Ambiguity, choices
from setwright.start.instruments import default_instruments, instruments_why
from setwright.start.setup import DraftSetup, ShopFiles
from setwright.start.toml import TomlText, quoted
from setwright.start.tools import DraftTool
from setwright.start.wording import Evidence, cite, one_line

__all__ = ["Documents"]

_TABLE_SPARE_MM = 20.0


class Documents:
    """The text of every file, equal things written once."""

    def __init__(self, setups: Sequence[DraftSetup]) -> None:
        self.setups = tuple(setups)
        self._files: dict[str, str] = {}
        self._instruments()
        self._shop_files = {setup.name: self._made(setup) for setup in self.setups}
        self._guesses = tuple(guess for setup in self.setups for guess in setup.guesses(self._shop_files[setup.name]))
        self._files["job.toml"] = self._job()
        wear_only = {register: why for setup in self.setups for register, why in setup.wear_only.items()}
        if wear_only:
            self._files["registers.toml"] = _registers(wear_only)

    def files(self) -> dict[str, bytes]:
        """Every file but the programs, by its path in the folder."""
        return {name: text.encode() for name, text in sorted(self._files.items())}

    def guesses(self) -> tuple[Guess, ...]:
        """Every guess, in the order of the setups."""
        return self._guesses

    def _made(self, setup: DraftSetup) -> ShopFiles:
        holding = self._vise(setup) if setup.holding.vise is not None else self._plate(setup)
        return ShopFiles(self._machine(setup), holding, {tool.station: self._tool_file(tool, setup) for tool in setup.tools})

    def _shop(self, folder: str, name: str, text: TomlText) -> str:
        """Keep a shop file under its name, or a numbered one where another thing has it; returns the name used."""
        for number in range(1, len(self._files) + 2):
            used = name if number == 1 else f"{name}-{number}"
            path = f"shop/{folder}/{used}.toml"
            if self._files.get(path, str(text)) == str(text):
                self._files[path] = str(text)
                return used
        raise AssertionError("more names than files")

    # --- job.toml --------------------------------------------------------------------------------------------------------------

    def _job(self) -> str:
        first = self.setups[0]
        text = TomlText(inch=first.inch)
        for setup in self.setups:
            for problem in setup.reading.interpreted.problems:
                text.comment(f"READ ONLY UP TO {problem.span}: {one_line(problem.what)}. What follows is not in this draft.")
        text.comment(f"Drafted from {', '.join(dict.fromkeys(name for setup in self.setups for name in setup.reading.names))}.")
        text.comment("What is marked guess is an assumption. Check it at the machine, write what is true, and delete its mark")
        text.comment("and its entry under [[guess]]: a proof names every guess it rests on.")
        text.put("format", "1")
        text.put("units", quoted("in" if first.inch else "mm"), said="what a bare number means in this file")
        text.table("[job]")
        stopped = first.reading.interpreted.stopped_at
        text.text("title", f"{_title(first)} (read only to line {stopped.line})" if stopped is not None else _title(first))
        material = first.material()
        if material is not None:
            text.text("material", material[0], (material[1],))
        for setup in self.setups:
            self._setup(text, setup)
        for guess in self._guesses:
            text.table("[[guess]]")
            text.text("setup", guess.setup)
            text.text("what", guess.what)
            text.text("evidence", guess.evidence)
            _answer(text, guess)
        return str(text)

    def _setup(self, text: TomlText, setup: DraftSetup) -> None:
        text.table("[[setup]]")
        text.text("name", setup.name)
        text.text("machine", self._shop_files[setup.name].machine, (setup.machine.why,))
        text.put("programs", "[" + ", ".join(quoted(name) for name in setup.reading.names) + "]")
        if setup.reading.part is not None:
            text.put("lines", "[{}, {}]".format(*setup.reading.part), (_lines_why(setup),))
        text.text("offset", setup.offset)
        if setup.shifts:
            places = ", ".join(f"{quoted(name)} = {text.numbers(at)}" for name, at in setup.shifts.items())
            text.put("shifts", f"{{ {places} }}", (setup.shifts_why(),))
        if setup.lengths != "registers":
            text.text("lengths", setup.lengths, (setup.lengths_why(),))
        self._blank(text, setup)
        self._holding(text, setup)
        self._datum(text, setup)
        for tool in setup.tools:
            self._tool(text, tool, setup)

    def _datum(self, text: TomlText, setup: DraftSetup) -> None:
        """What to touch: a box's faces nearest to zero, and its longer side where no jaw gives the angle; a round blank's axis."""
        text.table("[setup.datum]")
        low, high = setup.blank.low, setup.blank.high
        if setup.blank.round_size is not None:
            for axis in "xy":
                text.text(axis, "outside", (cite("the axis of a round blank"),))
        else:
            x, y = "left" if abs(low[0]) <= abs(high[0]) else "right", "front" if abs(low[1]) < abs(high[1]) else "back"
            text.text("x", x, (cite("the blank's face nearest to zero"),))
            text.text("y", y, (cite("the blank's face nearest to zero"),))
            if setup.holding.vise is None:
                longer = y if high[0] - low[0] >= high[1] - low[1] else x
                text.text("angle", longer, (cite("no jaw gives it: along the longer side"),))
        text.put("z", f'{{ face = "top", is = {text.number(float(high[2]))} }}')

    def _blank(self, text: TomlText, setup: DraftSetup) -> None:
        text.table("[setup.blank]")
        blank = setup.blank
        if setup.before is not None:
            text.text("from", setup.before.name, (setup.before.why,))
            if setup.before.turn is not None:
                about, by = setup.before.turn
                text.put("turned", f"[{{ about = {quoted(about)}, by = {by} }}]", (setup.before.why,))
            text.put("corner", text.numbers(blank.low.tolist()), [*blank.why_size, *blank.why_place])
            return
        why = list(dict.fromkeys([*blank.why_size, *blank.why_thick]))
        if blank.round_size is not None:
            diameter, height = blank.round_size
            text.put("cylinder", f"{{ diameter = {text.number(diameter)}, height = {text.number(height)} }}", why)
        else:
            text.put("box", text.numbers(blank.size.tolist()), why)
        text.put("corner", text.numbers(blank.low.tolist()), blank.why_place)

    def _holding(self, text: TomlText, setup: DraftSetup) -> None:
        text.table("[setup.holding]")
        held = setup.holding
        text.text("use", self._shop_files[setup.name].holding, (held.why,))
        if held.vise is not None:
            text.put("fixed_jaw", f"{{ against = {quoted(held.jaw)} }}")
        if held.parallels:
            said = "height of the parallels" if held.vise is not None else "height of the spacers under the blank"
            text.put("parallels", text.metric(held.parallels), said=said)
        if held.corner is not None:
            text.put("corner", text.numbers(held.corner), said="the plate's least corner")
        x, y = (zero + at for zero, at in zip(setup.machine.zero_in_machine, held.reference, strict=True))
        place = f"{{ x = {text.metric(round(x))}, y = {text.metric(round(y))}, varies = {text.metric(2.0)} }}"
        text.put("place", place, (cite("in the middle of the travel"),))

    def _tool(self, text: TomlText, tool: DraftTool, setup: DraftSetup) -> None:
        text.table("[[setup.tool]]")
        text.put("station", str(tool.station))
        text.text("use", self._shop_files[setup.name].tools[tool.station], tool.identity)
        text.length("stickout", tool.stickout, tool.lengths)
        if tool.length_register is not None:
            text.put("length_register", str(tool.length_register), said="as the program calls it")
        if tool.radius_register is not None:
            text.put("radius_register", str(tool.radius_register), said="as the program calls it")

    # --- shop ------------------------------------------------------------------------------------------------------------------

    def _machine(self, setup: DraftSetup) -> str:
        made = setup.machine
        text = _headed("default mill", inch=False)
        text.put("max_feed", f"{made.max_feed:g}")
        if any(made.home):
            text.put("home", text.numbers(made.home), (made.why,))
        text.table("[travel]")
        for axis, (low, high) in zip("xyz", made.travel, strict=True):
            text.put(axis, text.numbers((low, high)), (cite("default"),))
        text.table("[table]")
        text.put("x", text.numbers((made.travel[0][0] - _TABLE_SPARE_MM, _TABLE_SPARE_MM)))
        text.put("y", text.numbers((made.travel[1][0] - _TABLE_SPARE_MM, _TABLE_SPARE_MM)))
        text.length("z", made.table_z, said="the gauge line stands on the table there")
        text.table("[spindle]")
        text.put("max_speed", f"{made.max_speed:g}", (cite("default, or the fastest speed of the program"),))
        text.table("[control]")
        text.text("profile", "plain")
        text.text("lengths", "from gauge line", said="or “tip on datum”: every tool is set on the part; or “reference tool”")
        unsure = sorted({doubt.behaviour for doubt in setup.reading.inference.ambiguities if len(choices(doubt.behaviour)) > 1})
        if unsure:
            named = "[" + ", ".join(quoted(name) for name in unsure) + "]"
            text.put("unsure", named, said="the text leaves these open: every reading is proved until you strike the name out")
        if setup.behaviours:
            text.table("[control.behaviours]")
            why = _behaviour_reasons(setup)
            for name, value in setup.behaviours.items():
                text.put(name, quoted(value) if isinstance(value, str) else f"{value:g}", why.get(name, ()))
        return self._shop("machines", "default-mill", text)

    def _vise(self, setup: DraftSetup) -> str:
        vise = setup.holding.vise
        assert vise is not None
        text = _headed("default vise 150", inch=False)
        text.table("[vise]")
        for key in ("jaw_width", "jaw_height", "jaw_thickness", "opening", "bed_height", "body_length"):
            text.length(key, getattr(vise, key))
        return self._shop("holding", "default-vise", text)

    def _plate(self, setup: DraftSetup) -> str:
        plate = setup.holding.plate
        assert plate is not None
        text = _headed("default plate", inch=False)
        text.table("[plate]")
        text.put("size", text.numbers(plate.size))
        text.length("thickness", plate.thickness)
        return self._shop("holding", "default-plate", text)

    def _instruments(self) -> None:
        inch = self.setups[0].inch
        for one in default_instruments(inch=inch):
            text = _headed(one.name, inch=inch)
            text.text("kind", one.kind)
            for key, size in one.sizes:
                text.length(key, size, (instruments_why(),))
            for key, size in one.errors:
                text.text(key, f"{size:g} mm")
            if one.rated_speed:
                text.text("rated_speed", one.rated_speed)
            text.text("read", one.read)
            text.text("caution", one.caution)
            self._shop("instruments", one.file, text)

    def _tool_file(self, draft: DraftTool, setup: DraftSetup) -> str:
        tool = draft.tool
        text = _headed(tool.name, inch=setup.inch)
        text.text("kind", tool.kind)
        text.length("diameter", tool.diameter, draft.identity)
        text.length("flute_length", tool.flute_length, draft.lengths)
        if tool.corner_radius:
            text.length("corner_radius", tool.corner_radius)
        if tool.point_angle is not None:
            text.text("point_angle", f"{math.degrees(tool.point_angle):.6g} deg")
        text.put("flutes", str(tool.flutes))
        if tool.pitch is not None and tool.kind in ("tap", "thread mill"):
            text.text("pitch", f"{tool.pitch:.6g} mm")
        if draft.hand is not None:
            text.text("hand", tool.hand, (draft.hand,))
        if tool.shank is not None:
            text.put("shank", f"{{ diameter = {text.number(tool.shank.diameter)} }}")
        steps = [f"  {{ diameter = {text.metric(step.diameter)}, length = {text.metric(step.length)} }}," for step in tool.holder]
        text.put("holder", "\n".join(["[", *steps, "]"]))
        return self._shop("tools", _file_name(tool, inch=setup.inch), text)


def _lines_why(setup: DraftSetup) -> Evidence:
    """Where a clamping begins and ends."""
    begins = f"behind the stop in line {setup.before.stop.line}" if setup.before is not None else "the first clamping"
    return cite(f"{begins}; the lines before are executed for what they leave in force")


def _answer(text: TomlText, guess: Guess) -> None:
    """Where a guess is answered, where it comes from, and how far it may be off."""
    for key in ("key", "file"):
        if getattr(guess, key):
            text.text(key, getattr(guess, key))
    if guess.line is not None:
        text.put("line", str(guess.line))
    if guess.faces:
        text.put("faces", "[" + ", ".join(quoted(face) for face in guess.faces) + "]")
    if guess.low:
        text.put("low", text.numbers(guess.low))
        text.put("high", text.numbers(guess.high))


def _registers(wear_only: Mapping[int, Evidence]) -> str:
    """What the control must hold where that is not the tool's own size."""
    text = TomlText(inch=False)
    text.comment("What the control's registers hold where that is not the tool's size. Read them off the control and correct this.")
    text.put("format", "1")
    text.put("units", quoted("mm"))
    for register, why in sorted(wear_only.items()):
        text.table(f"[tool.{register}]")
        text.put("radius", "0", (why,))
    return str(text)


def _headed(name: str, *, inch: bool) -> TomlText:
    text = TomlText(inch=inch)
    text.comment("Drafted: replace it by what your shop has.")
    text.put("format", "1")
    text.put("units", quoted("in" if inch else "mm"))
    text.text("name", name)
    return text


def _behaviour_reasons(setup: DraftSetup) -> dict[str, list[Evidence]]:
    reasons: dict[str, list[Evidence]] = {}
    said: list[SettledBehaviour | Ambiguity] = [*setup.reading.inference.evidence, *setup.reading.inference.ambiguities]
    for one in said:
        name = "other_m_codes" if one.behaviour == "machine_functions" else one.behaviour
        reasons.setdefault(name, []).append(cite(f"{one.text} ({one.span})"))
    return reasons


def _title(setup: DraftSetup) -> str:
    """The program's own title, else its file's name."""
    tools = {hint.text for hints in setup.reading.hints.values() for hint in hints.tools}
    titles = [program.title for program in setup.reading.interpreted.programs if program.title and program.title not in tools]
    return one_line(titles[0])[:200] if titles and one_line(titles[0]) else setup.reading.names[0].rsplit(".", 1)[0]


def _file_name(tool: Tool, *, inch: bool) -> str:
    size = tool.name.removeprefix(tool.kind).removesuffix(" in").removesuffix(" mm").strip().replace(".", "-")
    return re.sub(r"[^a-z0-9-]+", "-", f"{tool.kind}-{size}{'in' if inch else ''}".lower())
