"""The material of the blank, as far as cutting it and measuring it depend on it: each figure with its spread and its source."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from setwright.model.quantity import Name, Part, not_negative, positive

__all__ = ["EdgeForces", "Figure", "Material", "MaterialGroup", "MaterialTable", "StartRange"]

_Positive = Annotated[float, AfterValidator(positive)]
Group = Literal["P", "M", "K", "N", "S", "H", "plastic"]


class Figure(Part):
    """One figure: `value`, its `spread` (one standard deviation as a share of the value), the `source` it comes from, and whether
    that source was read (`sure`); a figure that is not sure is shown as such wherever it is used."""

    value: _Positive
    spread: Annotated[float, AfterValidator(not_negative), Field(lt=1.0)]
    source: Name = "the shop's own"
    sure: bool = True


class StartRange(Part):
    """A range of use from `low` to `high`, with its source, as in Figure."""

    low: _Positive
    high: _Positive
    source: Name = "the shop's own"
    sure: bool = True

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.low > self.high:
            raise ValueError("low must not be above high")
        return self


class EdgeForces(Part):
    """Coefficients of dF = (K_c h + K_e) dz along the cutting direction (t), off the work (r) and along the tool's axis (a): `cut`
    K_tc, K_rc, K_ac in N/mm², `edge` K_te, K_re, K_ae in N/mm; as in Figure for the rest."""

    cut_n_mm2: tuple[float, float, float]
    edge_n_mm: tuple[float, float, float]
    source: Name = "the shop's own"
    sure: bool = True


class Material(Part):
    """One material, or a family of them where the grade is not stated.

    `words`: grades by which a job may name it; `group`: of ISO 513, or "plastic". `kc11_n_mm2`, `mc`: cutting force of a chip of
    1 mm by 1 mm and its exponent, k_c = kc11 h^-mc (Kienzle). `edge_forces`: measured sets of the other model, as many as there
    are. `tapping_kc_n_mm2`: cutting force of taps; `drilling_n_mm2`: K_d of the handbook's drilling formulas; `mill_speed_m_min`:
    start values of carbide, where they are not those of the group; `expansion_um_m_k`: linear expansion.
    """

    name: Name
    group: Group
    words: tuple[Name, ...] = ()
    kc11_n_mm2: Figure | None = None
    mc: Figure | None = None
    edge_forces: tuple[EdgeForces, ...] = ()
    tapping_kc_n_mm2: Figure | None = None
    drilling_n_mm2: Figure | None = None
    mill_speed_m_min: StartRange | None = None
    expansion_um_m_k: Figure | None = None


class MaterialGroup(Part):
    """What the materials of a group have in common: start values of carbide mills of 10 mm (`mill_speed_m_min`,
    `tooth_feed_mm`), and the force off the work and along the tool's axis as shares of that along the cut."""

    mill_speed_m_min: StartRange
    tooth_feed_mm: StartRange
    off_work_share: Figure
    axial_share: Figure
    tapping_kc_n_mm2: Figure | None = None


class MaterialTable(Part):
    """Groups, materials by key, and families: what a text without a grade tells, by patterns that are tried in their order."""

    group: dict[Group, MaterialGroup]
    material: dict[str, Material]
    family: dict[str, Material]
    pattern: dict[str, str]
