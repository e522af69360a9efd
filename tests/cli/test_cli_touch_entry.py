"""Contacts taken from a machine that publishes its position, and the repeat test of an instrument."""

from __future__ import annotations

import io
import json
from importlib.resources import files
from pathlib import Path

import pytest
from rich.console import Console

from setwright.base.errors import InputRefused
from setwright.cli.common import Asked
from setwright.cli.touch_entry import hovered, take_contacts
from setwright.jobfolder.load import load_job
from tests.cli.conftest import ask, fingerprint
from tests.touch.test_touch_stream import Agent, server

__all__ = ["server"]
INSTRUMENT = 'name = "finder"\nkind = "electronic finder"\ntip_diameter = 10\nrepeatability = "3 um"\nread = "light"\n'

BY_HAND = """\
# written by hand
[[contact]]
setup = "first side"
on = "left"
with = "finder"
toward = "+X"
display = { x = -400 }
"""


@pytest.fixture
def with_finder(job: Path) -> Path:
    (job / "shop" / "instruments").mkdir()
    (job / "shop" / "instruments" / "finder.toml").write_text(INSTRUMENT)
    return job


def asked() -> Asked:
    silent = Console(file=io.StringIO())
    return Asked("touch", json=False, units="mm", quiet=True, people=silent, progress=silent)


def test_a_key_press_writes_what_the_machine_shows(with_finder: Path, server: tuple[Agent, str]) -> None:
    agent, address = server
    (with_finder / "readings.toml").write_text(BY_HAND)
    agent.move(x=-312.4471, y=-180.25, z=-230)

    def keys() -> str:
        if len(load_job(with_finder).job.readings.contact) == 1:
            return "\n"
        agent.move(x=-312.5)
        return "q\n"

    said = {"setup": "first side", "on": "left", "instrument": "finder", "toward": "+X"}
    taken = take_contacts(asked(), load_job(with_finder), address, **said, key=keys)
    assert taken == 1
    text = (with_finder / "readings.toml").read_text()
    assert text.startswith(BY_HAND)
    added = load_job(with_finder).job.readings.contact[-1]
    assert (added.on, added.toward, added.display.x, added.display.y, added.display.z) == ("left", "+X", -312.4471, -180.25, -230.0)


def test_readings_that_cannot_be_read_are_left_alone(with_finder: Path, server: tuple[Agent, str]) -> None:
    agent, address = server
    agent.move(x=1, y=2, z=3)
    folder = load_job(with_finder)
    (with_finder / "readings.toml").write_text("[[contact\n")
    before = fingerprint(with_finder)
    with pytest.raises(InputRefused, match="not TOML"):
        take_contacts(asked(), folder, address, setup="first side", on="left", instrument="finder", toward="+X", key=lambda: "\n")
    assert fingerprint(with_finder) == before


def test_repeat_test_gives_the_standard_deviation(with_finder: Path) -> None:
    result = ask("touch", with_finder, "--qualify", "finder", "--repeats", "1.000 1.002 0.998 1.001 0.999")
    assert result.exit_code == 0
    # squares of the deviations 0, 2, -2, 1, -1 µm add up to 10; over four degrees of freedom 1.58 µm
    assert '"0.0016 mm"' in result.stdout
    assert ask("touch", with_finder, "--qualify", "finder", "--repeats", "1.0 wide").exit_code == 2
    assert ask("touch", with_finder, "--qualify", "finder", "--repeats", "1.0").exit_code == 2


def test_an_observation_over_the_datum() -> None:
    (seen,) = hovered(["X -5 mm", "Y 0.5 in"], "mm")
    assert (seen.x, seen.y, seen.z) == (-5.0, 12.7, None)
    assert hovered([], "mm") == ()
    with pytest.raises(InputRefused, match="not an observation"):
        hovered(["left a bit"], "mm")


def test_what_is_typed_at_an_inch_control_is_in_inches_in_the_document_too() -> None:
    """The document's own numbers are mm; the block, the keystrokes and what the screen shows are those of the terminal."""
    inches = str(files("setwright.demo") / "pintle")
    said = ask("touch", inches).stdout
    document = json.loads(ask("touch", inches, "--json").stdout)
    assert document["units"] == "mm"
    assert all(line in said for line in document["g10"].splitlines())
    assert "G20" in document["g10"].splitlines()
    (number,) = [keys.split()[3] for keys in document["type"] if keys.endswith("into length 1")]
    assert float(number) == pytest.approx(document["tool_lengths"]["1"]["value"] / 25.4, abs=5e-5)
    (shown,) = json.loads(ask("touch", inches, "--json", "--shows", f"H1 {number}").stdout)["shows"]
    assert shown["right"]
