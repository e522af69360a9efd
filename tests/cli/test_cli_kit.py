"""The kit's doors at the terminal: machine figures by the stop-watch, tools from a list."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

import pytest

from tests.cli.conftest import ask as asked

MACHINE = Path(str(files("setwright.demo"))) / "bearing-cap" / "shop" / "machines" / "mill-2.toml"
PROGRAM = "G21 G17 G90 G40 G49 G80 G54\nT1 M6\nS8000 M3\nG0 X0 Y0 Z50\n{moves}M5\nM30\n"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A machine's file and three programs: rapids, short blocks, and both."""
    (tmp_path / "mill.toml").write_text(MACHINE.read_text(encoding="utf-8"), encoding="utf-8")
    rapids = "".join(f"G0 X{300 * (k % 2)} Y{100 * (k % 3)}\n" for k in range(40))
    blocks = "".join(f"G1 X{k / 20:.2f} Y{(k % 2) / 50:.2f} F4000\n" for k in range(400))
    for name, moves in (("rapids.nc", rapids), ("blocks.nc", blocks), ("both.nc", rapids + blocks)):
        (tmp_path / name).write_text(PROGRAM.format(moves=moves), encoding="utf-8")
    (tmp_path / "times.csv").write_text("program, time\nrapids.nc, 0:47\nblocks.nc, 13.5\nboth.nc, 0:54\n", encoding="utf-8")
    return tmp_path


def test_figures_are_shown_first_and_kept_when_asked(shop: Path) -> None:
    machine, before = shop / "mill.toml", (shop / "mill.toml").read_text(encoding="utf-8")
    shown = asked("kit", str(machine), "--calibrate", str(shop / "times.csv"), "--json")
    assert shown.exit_code == 0, shown.stderr
    told = json.loads(shown.stdout)["calibration"]
    assert [one["key"] for one in told["figures"]] == ["acceleration_xy", "acceleration_z", "corner_rounding", "block_time",
                                                       "tool_change", "spindle_start"]  # fmt: skip
    assert not next(one for one in told["figures"] if one["key"] == "acceleration_z")["shown"]
    assert machine.read_text(encoding="utf-8") == before
    kept = asked("kit", str(machine), "--calibrate", str(shop / "times.csv"), "--keep")
    assert kept.exit_code == 0, kept.stderr
    after = machine.read_text(encoding="utf-8")
    assert all(line in after for line in before.splitlines() if "acceleration" not in line and "tool_change" not in line
               and "spindle_start" not in line)  # fmt: skip
    assert "[timed]" in after
    once_more = asked("kit", str(machine), "--calibrate", str(shop / "times.csv"), "--json")
    assert once_more.exit_code == 0, once_more.stderr
    again = json.loads(once_more.stdout)
    assert again["calibration"]["figures"][0]["before"] == pytest.approx(told["figures"][0]["value"], rel=0.001)


@pytest.mark.parametrize(("table", "said"), [
    ("program, time\nrapids.nc, 0:52\n", "1 timed program"),
    ("program, tim\nrapids.nc, 0:52\n", 'did you mean "time"'),
    ("program, time\nrapids.nc, soon\nnone.nc, 5\n", "no file or folder none.nc"),
    ("program, time\nrapids.nc, 0:00\n", "more than nothing"),
    ("", "empty"),
])  # fmt: skip
def test_a_table_that_cannot_be_is_refused(shop: Path, table: str, said: str) -> None:
    (shop / "times.csv").write_text(table, encoding="utf-8")
    before = (shop / "mill.toml").read_text(encoding="utf-8")
    refused = asked("kit", str(shop / "mill.toml"), "--calibrate", str(shop / "times.csv"), "--keep")
    assert refused.exit_code == 2
    assert said in refused.stderr
    assert (shop / "mill.toml").read_text(encoding="utf-8") == before


def test_tools_of_a_list_go_into_the_shop(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("kind,name,DC,APMX,d2\nend mill,mill 10,10,22,8\n", encoding="utf-8")
    (tmp_path / "shop").mkdir()
    done = asked("kit", str(tmp_path / "shop"), "--tools", str(tmp_path / "list.csv"))
    assert done.exit_code == 0, done.stderr
    assert "not understood, not taken: “d2” = 8" in done.stdout
    assert (tmp_path / "shop" / "tools" / "mill-10.toml").exists()
    assert asked("kit", str(tmp_path / "shop"), "--tools", str(tmp_path / "list.csv")).exit_code == 2
