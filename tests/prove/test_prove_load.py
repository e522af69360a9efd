"""The load of a job: what the document says, which findings speak and when, and what is named as not looked at."""

from __future__ import annotations

import shutil
from importlib import resources
from pathlib import Path

import pytest

from setwright.jobfolder.load import load_job
from setwright.model.finding import Finding, Signal
from setwright.prove.chain import prove_job
from setwright.prove.report import plain_job
from setwright.prove.station import Proof
from setwright.prove.verdict import verdict

SPACERS = Path(str(resources.files("setwright.demo") / "spacers"))
LOAD = ("load-beyond-spindle", "chip-far-off", "tool-bends", "part-may-move", "drilled-without-pecks")


def proof_of(folder: Path, *changes: tuple[str, str, str], pitch: float = 1.0) -> Proof:
    """Of the bundled spacers with some words of their files changed: (file, before, after)."""
    shutil.copytree(SPACERS, folder, dirs_exist_ok=True)
    for name, before, after in changes:
        text = (folder / name).read_text()
        assert before in text
        (folder / name).write_text(text.replace(before, after))
    job = load_job(folder)
    return prove_job(job, list(job.job.setup), pitch_mm=pitch)[0]


def found(proof: Proof, slug: str) -> list[Finding]:
    return [one for one in proof.findings if one.slug == slug]


def machine(folder: Path = SPACERS) -> str:
    return "shop/machines/" + next(iter((folder / "shop" / "machines").glob("*.toml"))).name


def power_line() -> str:
    return next(line for line in (SPACERS / machine()).read_text().splitlines() if line.startswith("power"))


def material_line() -> str:
    return next(line for line in (SPACERS / "job.toml").read_text().splitlines() if line.startswith("material"))


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Proof:
    return proof_of(tmp_path_factory.mktemp("spacers"))


def test_the_document_has_the_load_of_every_tool_with_its_band_and_caution(plain: Proof) -> None:
    said = plain_job([plain], "mm")
    assert [one["tool"] for one in said["load"]] == [1, 2, 3, 4]
    for one in said["load"]:
        low, high = one["peak_kw_band"]
        assert 0.0 < low < one["peak_kw"] < high
        assert one["peak_torque_nm"] > 0.0
        assert one["mean_kw"] <= one["peak_kw"]
    rests = said["setups"][0]["load_rests_on"]
    assert rests["material"] == "brass"
    assert "no permission" in rests["caution"]


def test_a_peak_is_force_times_removal(plain: Proof) -> None:
    """Facing a disc of 36 mm, 1 mm deep at 1200 mm/min: at most 36 mm wide, and nearly that over a quarter of the cutter's way; k_c
    lies between those of the thickest chip and of half of it."""
    assert plain.load is not None
    face = plain.load.of(1)
    assert face is not None
    assert face.thickest_mm == pytest.approx(1200.0 / 4000.0 / 4, rel=0.01)
    rate, kc = 36.0 * 1.0 * 1200.0 / 60e6, [780.0 * (face.thickest_mm * share) ** -0.18 for share in (1.0, 0.5)]
    assert 0.85 * rate * kc[0] < face.power.likely < rate * kc[1]


def test_a_weak_spindle_a_fast_feed_and_a_weak_vise_are_findings(tmp_path: Path, plain: Proof) -> None:
    assert not found(plain, "load-beyond-spindle")
    weak = proof_of(tmp_path / "weak", (machine(), power_line(), "power = 0.4"))
    spindle = found(weak, "load-beyond-spindle")
    assert spindle
    assert spindle[0].signal is Signal.WARNING
    assert weak.load is not None
    drill = weak.load.of(2)
    assert drill is not None
    assert drill.power.likely > 0.4
    face = weak.load.of(1)
    assert face is not None
    assert face.advice is not None
    assert face.advice.to < face.advice.feed
    assert face.advice.saves_s < 0.0
    assert face.advice.why == "the spindle's power"


def test_what_is_not_stated_is_not_looked_at_and_never_passes(tmp_path: Path) -> None:
    none = proof_of(tmp_path / "none", ("job.toml", material_line(), ""))
    assert none.load is not None
    assert none.load.tools == ()
    assert [one["peak_kw"] for one in plain_job([none], "mm")["load"]] == [None] * 4
    assert any("the job's material is not stated" in one.text for one in verdict(none).open)
    odd = proof_of(tmp_path / "odd", ("job.toml", material_line(), 'material = "oak"'))
    assert any("nothing is known of “oak”" in one.text for one in verdict(odd).open)
    bare = proof_of(tmp_path / "bare", (machine(), power_line(), ""))
    assert bare.load is not None
    assert any("its power is not stated" in text for text in bare.load.open)
    assert any(one.text == "parts of the cutting load" and one.text in verdict(bare).text for one in verdict(bare).open)
    assert not found(bare, "load-beyond-spindle")


def test_teeth_that_nobody_stated_are_no_teeth(tmp_path: Path) -> None:
    tool = next(path for path in (SPACERS / "shop" / "tools").glob("*.toml") if 'kind = "face mill"' in path.read_text())
    line = next(line for line in tool.read_text().splitlines() if line.startswith("flutes"))
    proof = proof_of(tmp_path / "job", (f"shop/tools/{tool.name}", line, ""))
    assert proof.load is not None
    assert proof.load.of(1) is None
    assert any("T1 (its teeth are not stated)" in text for text in proof.load.open)
    assert "parts of the cutting load" in verdict(proof).text


def test_three_pitches_agree_within_the_stated_bound(tmp_path: Path) -> None:
    """The peak of each tool at 0.6, 0.4 and 0.25 mm; what they may differ by is what each says of itself."""
    each = [proof_of(tmp_path / str(k), pitch=pitch).load for k, pitch in enumerate((0.6, 0.4, 0.25))]
    for station in (1, 2, 3):
        loads = [load.of(station) for load in each if load is not None]
        assert len(loads) == 3
        powers = [(one.power.likely, one.bound) for one in loads if one is not None]
        finest = powers[-1]
        for power, bound in powers[:-1]:
            assert abs(power - finest[0]) <= finest[0] * (bound + finest[1] + 0.01)


def test_what_falls_between_the_rays_is_named_and_never_left_out(tmp_path: Path) -> None:
    """A chamfer of 0.4 mm, rays 2 mm apart: its tool has cut, and no upright ray met it."""
    load = proof_of(tmp_path / "chamfer", pitch=2.0).load
    assert load is not None
    assert load.of(4) is None
    assert "the cutting load of T4 (none of its cuts could be worked out)" in load.open


def test_of_a_tool_that_the_rays_met_in_part_the_share_is_said(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(SPACERS.parent / "bearing-cap", tmp_path / "cap"))
    job = load_job(folder)
    coarse, fine = (prove_job(job, [job.job.setup[1]], pitch_mm=pitch)[0].load for pitch in (2.0, 0.5))
    assert coarse is not None
    assert fine is not None
    assert [one for one in coarse.open if "thinner than the rays" in one and "T4" in one]
    assert not [one for one in fine.open if "thinner than the rays" in one]
