"""What the checks of Kit say of a plate 20 high in jaws 40 high."""

from pathlib import Path

import pytest

from setwright.jobfolder.load import load_job
from setwright.kit.findings import kit_findings
from setwright.kit.station import kit
from setwright.model.check import HEADINGS, checks_in
from setwright.model.finding import Finding, Signal
from tests.jobfolder.test_jobfolder_load import JOB, MACHINE, TOOL, VISE


def findings(root: Path, job: str) -> list[Finding]:
    for kind, name, text in (("machines", "mill", MACHINE), ("holding", "vise", VISE), ("tools", "em10", TOOL)):
        (root / "shop" / kind).mkdir(parents=True, exist_ok=True)
        (root / "shop" / kind / f"{name}.toml").write_text(text)
    (root / "job.toml").write_text(job)
    (root / "plate.nc").write_text("%\nO1\nM30\n%\n")
    folder = load_job(root)
    return kit_findings(kit(folder, folder.job.setup[0]))


GRIPS = [(20, 38, 2.0), (60, 35, 5.0), (2, 30, 2.0), (32, 34, 6.0), (60, 29, 11.0)]


@pytest.mark.parametrize(("height", "parallels", "grip"), GRIPS)
def test_a_blank_held_by_its_edge_is_warned_of(tmp_path: Path, height: int, parallels: int, grip: float) -> None:
    """Jaw height less parallels, and no more than the blank is high; wanted are 3 mm and a fifth of the height."""
    job = JOB.replace('"2 in", 20]', f'"2 in", {height}]').replace("parallels = 20", f"parallels = {parallels}")
    finding, = findings(tmp_path, job)
    assert (finding.slug, finding.signal, finding.setup) == ("little-left-in-jaws", Signal.WARNING, "first side")
    assert finding.value == pytest.approx(grip, abs=1e-9)


@pytest.mark.parametrize(("height", "parallels"), [(20, 36), (60, 28), (32, 33), (20, 0)])
def test_enough_grip_is_not_spoken_of(tmp_path: Path, height: int, parallels: int) -> None:
    job = JOB.replace('"2 in", 20]', f'"2 in", {height}]').replace("parallels = 20", f"parallels = {parallels}")
    assert findings(tmp_path, job) == []


BORE = "; if the file is right, a bore milled by that radius comes out"


@pytest.mark.parametrize(("preset", "held", "said"), [
    ("5.496", "", [f"its preset says a radius of 5.496 mm{BORE} 0.992 mm too small"]),
    ("4.5", "", [f"its preset says a radius of 4.500 mm{BORE} 1.000 mm too large"]),
    ("4.995", "", []), ("5.3", "", []),
    ("", "5.31", [f"register D1 says a radius of 5.310 mm{BORE} 0.620 mm too small"]),
    ("", "0.02", []), ("", "5.0", []), ("5.496", "5.496", ["its preset says", "register D1 says"]),
])  # fmt: skip
def test_a_radius_that_is_another_tools_is_told_with_both_numbers_and_the_bore(
    tmp_path: Path, preset: str, held: str, said: list[str]
) -> None:
    """An end mill of 10: 0.1 and a fiftieth of it, 0.3 in all, may lie between its radius and 5; what is near 0 is wear."""
    if held:
        (tmp_path / "registers.toml").write_text(f"[tool.1]\nradius = {held}\n")
    found = findings(tmp_path, JOB + (f"preset = {{ radius = {preset} }}\n" if preset else ""))
    assert [(one.slug, one.signal, one.tool) for one in found] == [("radius-unlike-tool", Signal.WARNING, 1)] * len(said)
    assert all(one.text.startswith("T1 is 10.000 mm across by its file, and ") for one in found)
    assert all(words in one.text for words, one in zip(said, found, strict=True))


def test_a_plate_grips_nothing(tmp_path: Path) -> None:
    root = tmp_path / "shop" / "holding"
    root.mkdir(parents=True)
    (root / "plate.toml").write_text('name = "plate"\nplate = { size = [300, 200], thickness = 25 }\n')
    assert findings(tmp_path, JOB.replace('use = "vise"\nparallels = 20', 'use = "plate"\nparallels = 20')) == []


def test_every_check_has_its_headings() -> None:
    checks = checks_in("setwright.kit.checks")
    assert len({check.META.slug for check in checks}) == len(checks) > 0
    for check in checks:
        assert [heading for heading in HEADINGS if f"\n{heading}\n" not in check.__doc__] == []
