"""The document of a proof. Keys with a unit in their name are in that unit; features are in the document's `units`."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel

from setwright.web.wire.calculations import ResultSaid
from setwright.web.wire.common import Point, StationAnswer

__all__ = [
    "ClearanceSaid", "ContactSaid", "FeatureSaid", "FeedAdviceSaid", "LoadRests", "LoadSaid", "OpenSaid",
    "OvertravelSaid", "Place", "ProofAnswer", "ProofNow", "ProofOfSetup", "ProofSaid", "RestSaid", "Travel",
    "WantedSaid",
]  # fmt: skip


class Place(BaseModel):
    """A place in the program: the motion, its line, and the tool in the spindle."""

    file: str
    line: int
    tool: int
    motion: int
    setup: str


class ContactSaid(Place):
    """A part of the tool meets what it must not. `bodies`: the tool's part and the body; `at` in W, null where not computed;
    `motions`: in how many; the place is that of the first, `deepest_line` that of the deepest."""

    bodies: tuple[str, str]
    depth_mm: float
    at: tuple[float | None, float | None, float | None]
    rapid: bool
    way: str
    motions: int
    deepest_line: int


class ClearanceSaid(Place):
    """The least distance between a part of the tool and a body: between `least_mm` and `at_most_mm`, at two points in W;
    `plus_minus_mm`: how far it may be off in that direction; `margin_mm`: what is left of it once that is taken off."""

    bodies: tuple[str, str]
    least_mm: float
    at_most_mm: float
    plus_minus_mm: float
    margin_mm: float
    on_tool: Point
    on_body: Point


class OvertravelSaid(Place):
    """An axis is sent beyond its travel."""

    axis: Literal["X", "Y", "Z"]
    beyond_mm: float
    limit_mm: float
    wanted_mm: float


class FeatureSaid(BaseModel):
    """A requirement as it comes out: `found`, the share of the stated area on which its faces are there; `simulated`, the fitted
    size; `least` and `greatest`, what the places of its faces give that differ most; `why`: what they are made of."""

    name: str
    setup: str
    nominal: float
    simulated: float | None
    deviation: float | None
    tolerance: tuple[float, float] | None
    bound: float
    found: float
    least: float | None
    greatest: float | None
    state: str
    why: str


class WantedSaid(BaseModel):
    """The part compared with a wanted shape: how deep it is cut into, how high metal is left, and by how much either can be more
    between the rays."""

    within_mm: float
    cut_into_mm: float
    left_mm: float
    bound_mm: float
    at: Point | None
    line: int | None


class FeedAdviceSaid(BaseModel):
    """The feed that would bring a load that is far off back to its band, and what that saves; never written into a program."""

    feed_mm_min: float
    to_mm_min: float
    why: str
    saves_s: float


class LoadSaid(BaseModel):
    """The greatest load of a tool, mean over a turn unless it says otherwise; null where it is not computed. A `band` runs from the
    least to the greatest; `chip_mm`: of the cut in which half of its metal goes; `spindle_kw`: what the spindle gives at the speed
    of the peak; `engagement_bound`: how far the distance of the rays may falsify it, as a share."""

    tool: int
    peak_kw: float | None
    peak_kw_band: tuple[float, float] | None
    peak_torque_nm: float | None
    peak_torque_nm_band: tuple[float, float] | None
    peak_force_n: float | None
    peak_force_n_band: tuple[float, float] | None
    force_at_any_angle_n: float | None
    peak_thrust_n: float | None
    peak_thrust_n_band: tuple[float, float] | None
    mean_kw: float | None
    energy_kj: float | None
    chip_mm: float | None
    thickest_chip_mm: float | None
    bends_mm: float | None
    spindle_kw: float | None
    spindle_short_kw: float | None
    engagement_bound: float | None
    advice: FeedAdviceSaid | None
    mrr_mm3_min: float | None


class LoadRests(BaseModel):
    """What the load rests on: `unsure`, the material's figures whose source nobody has read; `clamp_n`: least, likely and greatest
    clamping force."""

    material: str | None
    grade_stated: bool
    unsure: list[str]
    not_looked_at: list[str]
    clamp_n: tuple[float, float, float] | None
    caution: str


class Travel(BaseModel):
    """Least and greatest machine position over the program."""

    min: Point
    max: Point


class OpenSaid(BaseModel):
    """Something that was not looked at or rests on nothing, and where to put that right (line 0: the file as a whole)."""

    text: str
    file: str
    line: int
    setup: str


class RestSaid(BaseModel):
    """A guess the proof rests on, and the line that answers it. `decides`: whether the verdict changes with it (null: not tried),
    and `how`."""

    guess: str
    file: str
    line: int
    decides: bool | None
    how: str
    setup: str


class ProofSaid(BaseModel):
    """What the program does to the metal; `verdict` is the headline, with what is `open` and which guesses decide in it."""

    verdict: str
    open: list[OpenSaid]
    rests_on: list[RestSaid]
    blank_mm3: float
    removed_mm3: float
    removed_by_tool: dict[str, float]
    discretisation_mm3: float
    contacts: list[ContactSaid]
    clearance: list[ClearanceSaid]
    overtravel: list[OvertravelSaid]
    features: list[FeatureSaid]
    wanted: WantedSaid | None
    load: list[LoadSaid]
    time_s: float | None
    grid_mm: float
    elapsed_s: float


class ProofOfSetup(ProofSaid):
    """Of one setup. `offsets_from`: "touch" where readings fix them, else expected ones."""

    setup: str
    offsets_from: str
    stopped_at: str | None
    disagreement_mm3: float
    time_uncertainty_s: float | None
    time_by_tool: dict[str, float]
    travel: Travel
    load_rests_on: LoadRests | None
    programs: dict[str, str]


class ProofAnswer(StationAnswer, ProofSaid):
    """A proof of a job: lists joined, volumes and times added up, and each setup by itself."""

    setups: list[ProofOfSetup]


class ProofNow(BaseModel):
    """The newest proof, or the one asked for (null: nothing was proved yet); `current`: it is of the newest revision."""

    proof: ResultSaid | None
    current: bool
    document: ProofAnswer | None
