"""Makes the pages of docs/reference/ from the code they describe. Run it after changing a check, a profile or the job document."""

from __future__ import annotations

import inspect
from collections import Counter
from collections.abc import Iterator
from importlib import resources
from pathlib import Path
from typing import Annotated, Any, Final, Literal, get_args, get_origin

import typer.main
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from setwright.cli.explain import ANSWERS
from setwright.cli.main import app
from setwright.hover.check_list import bundled_checks
from setwright.model import (
    holding,
    instrument,
    job,
    machine,
    material,
    measurement,
    quantity,
    reading,
    requirement,
    setup_check,
    tool,
)
from setwright.model.check import HEADINGS, Check, checks_in
from setwright.model.setup_check import SetupCheck
from setwright.program.profile import Behaviour, behaviours, bundled_profile, bundled_profiles
from setwright.slips.catalogue import HEADINGS as SLIP_HEADINGS
from setwright.slips.catalogue import Slip, slips

__all__ = ["main", "pages"]

HERE: Final = Path(__file__).resolve().parent
STATIONS: Final = ("read", "kit", "prove", "touch")
QUANTITIES: Final = {"Length": "length", "Angle": "angle", "Duration": "time", "Feed": "feed", "Acceleration": "acceleration",
                     "Power": "power", "Torque": "torque", "Speed": "spindle speed", "Temperature": "temperature",
                     "Ratio": "ratio"}  # fmt: skip
INTERNAL_UNITS: Final = {"length": "mm", "angle": "rad", "time": "s", "feed": "mm/min", "acceleration": "mm/s2", "power": "kW",
                         "torque": "N·m", "spindle speed": "rpm", "temperature": "K"}  # fmt: skip
PLAIN: Final[dict[Any, str]] = {float: "number", int: "whole number", str: "text", bool: "true or false"}
MADE: Final = "<!-- Made by docs/generate.py; change the code it describes instead. -->\n\n"


def pages() -> dict[str, str]:
    """The generated pages: path below docs/ → text."""
    return {
        "reference/checks.md": MADE + checks_page(),
        "reference/commands.md": MADE + commands_page(),
        "reference/control-profiles.md": MADE + profiles_page(),
        "reference/job-keys.md": MADE + keys_page(),
        "reference/setup-checks.md": MADE + setup_checks_page(),
        "reference/slips.md": MADE + slips_page(),
        **{f"reference/checks/{check.META.slug}.md": MADE + check_text(check) for check in every_check()},
        **{f"reference/behaviours/{entry.name}.md": MADE + behaviour_page(entry) for entry in behaviours()},
    }


def checks_of(station: str) -> list[Check]:
    """The checks of a station, the gravest first."""
    if not resources.files(f"setwright.{station}").joinpath("checks").is_dir():
        return []
    return sorted(checks_in(f"setwright.{station}.checks"), key=lambda check: (check.META.signal.rank, check.META.slug))


def every_check() -> list[Check]:
    """The checks of all stations that say something of a job."""
    return [check for station in STATIONS for check in checks_of(station)]


def checks_page() -> str:
    """The catalogue of checks, station by station; each has a page."""
    parts = ["# Checks\n\nEvery finding carries the name of its check. Each check has a page: what its silence proves, how it "
             "decides, and what it cannot see. If an input is missing it says *undecided*, and that is not a pass.\n"]  # fmt: skip
    for station in STATIONS:
        rows = [f"| [{check.META.slug}](checks/{check.META.slug}.md) | {check.META.signal.value} | {first_line(check)} |"
                for check in checks_of(station)]  # fmt: skip
        head = [f"\n## {station.capitalize()}\n", "| check | says at worst | what is wrong then |", "| --- | --- | --- |"]
        parts.append("\n".join([*head, *rows, ""]))
    parts.append("\n## What stations say of their own answers\n")
    for name, text in ANSWERS.items():
        first, *rest = inspect.cleandoc(text).splitlines()
        parts.append("\n".join([f"### {name}\n", f"{first}\n", *rest[1:], ""]))
    return "\n".join(parts)


def first_line(check: Check) -> str:
    """The sentence a check is about."""
    return inspect.cleandoc(check.__doc__).splitlines()[0]


def check_text(check: Check) -> str:
    """One check: its name, its worst signal word, its sentence, and its paragraphs under the fixed headings."""
    first, *rest = inspect.cleandoc(check.__doc__).splitlines()
    lines = [f"# {check.META.slug}\n", f"**{check.META.signal.value}**: {first}\n"]
    for line in rest:
        heading = next((name for name in HEADINGS if line.startswith(name)), "")
        lines.append(f"## {line.strip()}\n" if heading and not line.startswith(" ") else line.strip())
    return "\n".join([*lines, "\n[All checks](../checks.md)"]).rstrip() + "\n"


def setup_checks_page() -> str:
    """The checks of a setup that come along, from their files."""
    parts = ["# Checks of a setup\n\nWhat a person can do before the first cut to see whether a setup is what it should be. A shop "
             "changes them, leaves some out and adds its own: see [Hover](../hover.md#checks-of-your-own).\n"]  # fmt: skip
    return "\n".join([*parts, *(setup_check_text(slug, check) for slug, check in bundled_checks().items())])


def setup_check_text(slug: str, check: SetupCheck) -> str:
    """One check: what is done, what it takes, what is looked at and how finely."""
    often = {"setup": "", "tool": ", for each tool", "offset": ", for each work offset"}[check.each]
    needs = f"; needs {', '.join(check.needs)}" if check.needs else ""
    fine = {sight.what: f" (one standard deviation {sight.resolution:g} mm)" for sight in check.sees if sight.resolution}
    seen = [sight.what + fine.get(sight.what, "") for sight in check.sees]
    do = check.do.replace("{tool}", "…").replace("{offset}", "the work offset").replace("{block}", "25 mm or 1 in")
    lines = [f"### {slug}\n", f"**{check.name}**{often}, {check.minutes:g} minutes, {check.stage}{needs}.\n", f"{do}\n",
             f"Looks at: {'; '.join(seen)}.\n"]  # fmt: skip
    return "\n".join([*lines, *([f"CAUTION: {check.caution}\n"] if check.caution else [])])


def slips_page() -> str:
    """The catalogue of slips, from their docstrings."""
    parts = ["# Slips\n\nThe mistakes around a setup: Touch looks for them in the readings and in what the control holds, Hover "
             "follows what each would do. How far each is off comes from the job itself wherever it knows: this finder's tip, the "
             "neighbouring tool's length, the other setup's parallels. See [Hover](../hover.md) and [Touch](../touch.md).\n"]
    return "\n".join([*parts, *(slip_text(slip) for slip in slips())])


def slip_text(slip: Slip) -> str:
    """One slip: its name, its sentence, how often, and its paragraphs under the fixed headings."""
    first, *rest = inspect.cleandoc(slip.page).splitlines()
    often = f"{100.0 * slip.rate:.2g} % for {slip.per}: {slip.source}."
    lines = [f"### {slip.slug}\n", f"{first} *{often}*\n"]
    for line in rest:
        heading = not line.startswith(" ") and line in SLIP_HEADINGS
        if line == "How often":
            lines += ["**How far**\n", f"{slip.how_far}\n"]
        if line == "Source" and slip.what_hides_it:
            lines += ["**What hides it**\n", f"{slip.what_hides_it}\n"]
        lines.append(f"**{line}**\n" if heading else line.strip())
    return "\n".join(lines).rstrip() + "\n"


def commands_page() -> str:
    """Every verb with its words and options, from the command itself."""
    group: Any = typer.main.get_command(app)
    verbs = {name: group.get_command(None, name) for name in group.list_commands(None)}
    parts = ["# Commands\n\nEvery verb is a word behind `setwright`, or behind `python3 go.py` where the environment is not "
             "active. The exit status is explained in [Getting started](../getting-started.md#exit-status).\n"]  # fmt: skip
    rows = Counter(line_of(entry) for verb in verbs.values() for entry in verb.params)
    shared = {row for row, count in rows.items() if count > len(verbs) / 2 and row.startswith("| `-")}
    parts.append("## Common to most verbs\n\n" + table_of_options(sorted(shared)))
    for name, verb in verbs.items():
        own = [line_of(entry) for entry in verb.params if line_of(entry) not in shared]
        parts.append(f"## {name}\n\n{inspect.cleandoc(verb.help)}\n\n" + table_of_options(own).strip() + "\n")
    return "\n".join(parts)


def line_of(entry: Any) -> str:
    """A row of the table: how a word or option is written, and what it is for."""
    written = entry.name.upper() if entry.param_type_name == "argument" else ", ".join(entry.opts)
    value = f" {entry.metavar}" if entry.metavar else ""
    needed = ", must be given" if entry.required and entry.param_type_name == "option" else ""
    return f"| `{written}{value}`{needed} | {entry.help} |".replace("mm|inch", "mm\\|inch")


def table_of_options(rows: list[str]) -> str:
    """The rows under their heading; nothing if there are none."""
    return "\n".join(["| written | meaning |", "| --- | --- |", *rows, ""]) if rows else ""


def profiles_page() -> str:
    """Every behaviour in which controls differ, and the profiles that come along."""
    names = ", ".join(f"`{name}`" for name in bundled_profiles())
    head = ("# Control profiles\n\nControls differ in how they read the same program. A machine's file names a profile and may set "
            f"single behaviours on top. The profile that comes along, {names}, takes the safer reading on every point.\n\n"
            '```toml\n[control]\nprofile = "plain"\nbehaviours = { rapid = "dog-leg" }\n```\n')  # fmt: skip
    rows = [f"| [`{entry.name}`](behaviours/{entry.name}.md) | {allowed_text(entry)} | {entry.changes} |" for entry in behaviours()]
    return "\n".join([head, "| behaviour | values, the default first | what it changes |", "| --- | --- | --- |", *rows, ""])


def behaviour_page(entry: Behaviour) -> str:
    """One behaviour: what it changes, its values, what the profiles that come along say, how a machine states it."""
    said = [(name, getattr(bundled_profile(name), entry.name)) for name in bundled_profiles()]
    rows = [f"| {name} | `{value}` |" for name, value in said if value not in ("", ())]
    values = allowed_text(entry)
    unit = f" ({entry.unit})" if entry.unit else ""
    told = ("Where a program is read without a stated profile, `setwright read` says what the text itself tells of this behaviour, "
            "with the line, or that it leaves it open.")  # fmt: skip
    stated = f"```toml\n[control]\nbehaviours = {{ {entry.name} = {written(entry)} }}\n```\n"
    return "\n".join([
        f"# {entry.name}\n", f"{entry.changes}\n", f"Values{unit}, the default first: {values}.\n", f"{told}\n",
        "In a machine's file:\n", stated, *(["| profile | says |", "| --- | --- |", *rows, ""] if rows else []),
        "[All behaviours](../control-profiles.md)", "",
    ])  # fmt: skip


def written(entry: Behaviour) -> str:
    """A value of the behaviour as a machine's file has it: the last of its choices, else the default."""
    if isinstance(entry.default, str):
        value = entry.allowed[-1] if isinstance(entry.allowed, tuple) else entry.default
        return f'"{value}"'
    return str(list(entry.default)) if isinstance(entry.default, tuple) else f"{entry.default:g}"


def allowed_text(entry: Behaviour) -> str:
    """The values a behaviour may take."""
    default = f"`{entry.default}`" if entry.default not in ("", ()) else "none"
    if not isinstance(entry.allowed, tuple):
        return default
    if isinstance(entry.default, str):
        return ", ".join(f"`{value}`" for value in entry.allowed)
    return f"{default}; {entry.allowed[0]:g} to {entry.allowed[1]:g}"


def keys_page() -> str:
    """The keys of the job folder's files, table by table, from the document's own classes."""
    parts = ["# Keys of the job folder\n\nWhat may stand in `job.toml`, the files of the shop, `readings.toml`. Quantities carry a "
             'unit (`"12.7 mm"`, `"0.5 in"`) or take the file\'s.\n']  # fmt: skip
    for title, module in (("Job", job), ("Machine", machine), ("Holding", holding), ("Tool", tool), ("Instrument", instrument),
                          ("Gauge", measurement),
                          ("Readings and registers", reading), ("Requirement", requirement),
                          ("Check of a setup", setup_check), ("Material", material)):  # fmt: skip
        parts.append(f"\n## {title}\n")
        parts += [table_of(model) for model in models_of(module)]
    return "\n".join(parts)


def models_of(module: Any) -> Iterator[type[BaseModel]]:
    """The document's classes of a module, in the order they are written."""
    for value in vars(module).values():
        if inspect.isclass(value) and issubclass(value, BaseModel) and value.__module__ == module.__name__:
            yield value


def table_of(model: type[BaseModel]) -> str:
    """One class: its description and a row a key."""
    fields = model.model_fields.items()
    rows = [f"| `{field.alias or name}` | {field_kind(field)} | {default_of(field)} |" for name, field in fields]
    text = inspect.cleandoc(model.__doc__ or "")
    return "\n".join([f"### {model.__name__}\n", f"{text}\n", "| key | kind | default |", "| --- | --- | --- |", *rows, ""])


def field_kind(field: FieldInfo) -> str:
    """What may stand behind a key."""
    return measured_by(tuple(field.metadata)) or kind_of(field.annotation)


def measured_by(metadata: tuple[Any, ...]) -> str:
    """The quantity whose reader stands among a type's metadata: "length", "spindle speed" ...; empty if none does."""
    readers = {id(get_args(getattr(quantity, name))[1]): word for name, word in QUANTITIES.items()}
    return next((readers[id(entry)] for entry in metadata if id(entry) in readers), "")


def kind_of(annotation: Any) -> str:
    """A type in a reader's words."""
    origin, arguments = get_origin(annotation), [kind for kind in get_args(annotation) if kind is not type(None)]
    if not arguments:
        return PLAIN.get(annotation, getattr(annotation, "__name__", str(annotation)))
    if origin is Annotated:
        return measured_by(tuple(arguments[1:])) or kind_of(arguments[0])
    if origin is Literal:
        return ", ".join(f'"{value}"' if isinstance(value, str) else str(value) for value in arguments)
    if origin is dict:
        return f"table of {kind_of(arguments[-1])}"
    if origin is tuple:
        kinds = [kind_of(argument) for argument in arguments if argument is not Ellipsis]
        return f"list of {kinds[0]}" if Ellipsis in arguments else f"[{', '.join(kinds)}]"
    return " or ".join(kind_of(argument) for argument in arguments)


def default_of(field: FieldInfo) -> str:
    """What holds if the key is not written."""
    if field.is_required():
        return "must be written"
    value = field.get_default(call_default_factory=True, validated_data={})
    if value is None or value in ((), "", {}) or isinstance(value, BaseModel):
        return "–"
    unit = INTERNAL_UNITS.get(field_kind(field), "")
    shown = str(value).lower() if isinstance(value, bool) else list(value) if isinstance(value, tuple) else value
    return f"`{shown} {unit}`" if unit and value else f"`{shown}`"


def main() -> None:
    """Write the pages."""
    made = pages()
    for stale in {path.relative_to(HERE).as_posix() for path in (HERE / "reference").rglob("*.md")} - made.keys():
        (HERE / stale).unlink()
    for name, text in made.items():
        (HERE / name).parent.mkdir(exist_ok=True)
        (HERE / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
