"""A guess names the place of its answer, and a job can be tried with another one."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from pydantic import ValidationError

from setwright.model.job import Guess, Job

JOB = """
units = "in"
[job]
title = "lid"
[[setup]]
name = "first"
machine = "m"
programs = ["p.nc"]
blank = { box = [4, 3, 1], corner = [0, 0, -1] }
holding = { use = "vise" }
datum = { x = "left", y = "front", z = { face = "top" } }
[[setup.tool]]
station = 7
use = "drill-8"
stickout = 2
[[setup]]
name = "second"
machine = "m"
programs = ["q.nc"]
blank = { cylinder = { diameter = 4, height = 1 }, corner = [-2, -2, 0] }
holding = { use = "vise" }
datum = { x = "outside", y = "outside", z = { face = "top" } }
"""


def job(*, shop: bool = True) -> Job:
    raw: dict[str, Any] = tomllib.loads(JOB)
    if shop:
        drill = {"name": "drill 8", "kind": "drill", "diameter": "8 mm", "flute_length": "40 mm"}
        raw["shop"] = {"tools": {"drill-8": drill}}
    return Job.model_validate(raw, context={"units": "in"})


def guess(key: str, *, setup: str = "first", faces: tuple[Any, ...] = ()) -> Guess:
    return Guess(setup=setup, what="it", evidence="nothing tells it", key=key, faces=faces, low=(0.0,) * len(faces),
                 high=(0.0,) * len(faces))  # fmt: skip


def test_a_guess_of_an_older_draft_still_loads() -> None:
    old = Guess.model_validate({"setup": "first", "what": "blank", "evidence": "default"})
    assert (old.key, old.file, old.line, old.low, old.faces) == ("", "", None, (), ())


def test_the_range_of_a_guess_counts_in_the_unit_of_the_document() -> None:
    found = Guess.model_validate({"what": "blank", "evidence": "none", "low": [-1], "high": ["30 mm"]}, context={"units": "in"})
    assert (found.low, found.high) == ((-25.4,), (30.0,))


@pytest.mark.parametrize("wrong", [{"low": [1]}, {"low": [2], "high": [1]}, {"low": [0], "high": [1], "faces": ["top", "left"]}])
def test_a_range_that_is_none_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        Guess.model_validate({"what": "blank", "evidence": "none", **wrong})


def test_a_face_of_the_blank_is_moved_alone() -> None:
    thicker = job().with_guess(guess("job.toml: setup.blank.box", faces=("bottom",)), [-50.0]).setup[0].blank
    assert thicker.box == pytest.approx((101.6, 76.2, 50.0))
    assert thicker.corner == pytest.approx((0.0, 0.0, -50.0))
    wider = job().with_guess(guess("job.toml: setup.blank.box", faces=("right", "top")), [120.0, 1.0]).setup[0].blank
    assert wider.box == pytest.approx((120.0, 76.2, 26.4))
    assert wider.corner == pytest.approx((0.0, 0.0, -25.4))
    round_one = job().with_guess(guess("job.toml: setup.blank.cylinder", setup="second", faces=("top",)), [40.0]).setup[1].blank
    assert round_one.cylinder is not None
    assert (round_one.cylinder.diameter, round_one.cylinder.height) == (101.6, 40.0)


def test_a_number_at_a_key_is_changed_in_the_job_and_in_its_shop() -> None:
    told = job()
    longer = told.with_guess(guess("job.toml: setup.tool.7.stickout"), [60.0])
    assert longer.setup[0].tool[0].stickout == 60.0
    assert longer.setup[1] is told.setup[1]
    assert told.with_guess(guess("job.toml: setup.blank.corner"), [1.0, 2.0, 3.0]).setup[0].blank.corner == (1.0, 2.0, 3.0)
    assert told.with_guess(guess("shop/tools/drill-8.toml: diameter"), [7.0]).shop.tools["drill-8"].diameter == 7.0
    assert told.shop.tools["drill-8"].diameter == 8.0


@pytest.mark.parametrize("key", ["job.toml: setup.tool.8.stickout", "job.toml: setup.blank.size", "shop/tools/tap.toml: diameter"])
def test_a_key_that_leads_nowhere_is_told(key: str) -> None:
    with pytest.raises(KeyError):
        job().with_guess(guess(key), [1.0])


@pytest.mark.parametrize(
    ("asked", "answers"),
    [
        (guess("job.toml: setup.blank.box"), (4 * 25.4, 3 * 25.4, 25.4)),
        (guess("job.toml: setup.blank.box", faces=("bottom", "right")), (-25.4, 4 * 25.4)),
        (guess("job.toml: setup.blank.corner", setup="second", faces=("left", "top")), (-50.8, 25.4)),
        (guess("job.toml: setup.tool.7.stickout"), (50.8,)),
        (guess("shop/tools/drill-8.toml: diameter"), (8.0,)),
    ],
)  # fmt: skip
def test_what_the_job_answers_now_can_be_read_and_written_back(asked: Guess, answers: tuple[float, ...]) -> None:
    assert job().answer_of(asked) == pytest.approx(answers)
    assert job().with_guess(asked, job().answer_of(asked)) == job()


@pytest.mark.parametrize("key", ["job.toml: setup.tool.8.stickout", "job.toml: setup.blank.mesh", "shop/tools/no.toml: diameter"])
def test_an_answer_that_is_nowhere_is_no_answer(key: str) -> None:
    with pytest.raises(KeyError):
        job().answer_of(guess(key))
