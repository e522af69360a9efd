"""The table of materials: its figures against the printed ones, words of a job, and what a shop writes over it."""

from __future__ import annotations

import pytest

from setwright.base.errors import InputRefused
from setwright.jobfolder.load import load_job
from setwright.load.materials import bundled_table, expansion_of, group_of, known_material, unsure_of
from setwright.model.material import Figure, Material

BRONZE = '''
name = "our bronze"
group = "N"
words = ["CC480K"]
kc11_n_mm2 = { value = 900, spread = 0.1 }
mc = { value = 0.2, spread = 0.05 }
'''


def force(text: str, chip_mm: float) -> float:
    one = known_material(text)
    assert one is not None
    kc11, mc = one.material.kc11_n_mm2, one.material.mc
    assert kc11 is not None
    assert mc is not None
    return float(kc11.value * chip_mm**-mc.value)


@pytest.mark.parametrize(("text", "thin", "thick"), [
    ("brass CuZn39", 1180, 850), ("S275JR", 2630, 1930), ("E335", 3120, 2280), ("16MnCr5", 3820, 2370), ("42CrMo4", 4550, 2820),
])  # fmt: skip
def test_forces_are_those_printed_for_two_chips(text: str, thin: float, thick: float) -> None:
    """Published check values of k_c at 0.1 and 0.63 mm, printed to three digits."""
    assert force(text, 0.1) == pytest.approx(thin, abs=6)
    assert force(text, 0.63) == pytest.approx(thick, abs=6)


def test_there_are_at_least_25_materials_and_every_figure_has_spread_and_source() -> None:
    table = bundled_table()
    assert len(table.material) >= 25
    figures = [value for one in (*table.material.values(), *table.family.values()) for name in type(one).model_fields
               if isinstance(value := getattr(one, name), Figure)]  # fmt: skip
    assert len(figures) > 100
    assert all(one.spread > 0.0 and one.source != "the shop's own" for one in figures)
    forces = [one.kc11_n_mm2 for one in table.material.values()]
    assert all(one is not None and one.spread >= 0.15 for one in forces)
    assert sum(one is not None and one.sure for one in forces) == 5  # the rows whose source was read
    assert {one.group for one in table.material.values()} == {"P", "M", "K", "N", "S", "H"}


@pytest.mark.parametrize(("text", "key"), [
    ("EN AW-6082-T6", "aw-6082"), ("42 CrMo 4", "42crmo4"), ("AISI 4140", "42crmo4"), ("316L", "1-4404"), ("1.4301", "1-4301"),
    ("Ti-6Al-4V", "ti-6al-4v"), ("EN-GJL-250", "gjl-250"), ("17-4PH", "17-4ph"), ("stainless", "stainless-steel"),
    ("Messing", "brass"), ("mild steel", "steel"), ("6061 or 7075", "aluminium"), ("brass", "cuzn"), ("tool steel 60 HRC",
    "tool-steel-60-hrc"), ("oak", None), ("", None), ("C450", None),
])  # fmt: skip
def test_words_of_a_job_find_their_material(text: str, key: str | None) -> None:
    found = known_material(text)
    assert (found.key if found else None) == key


def test_a_family_is_not_a_grade_and_says_so() -> None:
    family, grade = known_material("aluminium"), known_material("7075-T6")
    assert family is not None
    assert grade is not None
    assert (family.stated, grade.stated) == (False, True)
    assert {"kc11_n_mm2", "mc"} <= set(unsure_of(family.material))
    assert known_material("S275JR") is not None
    assert unsure_of(bundled_table().material["s275jr"]) == ()


def test_a_shop_writes_over_what_comes_along_and_adds_its_own(tmp_path) -> None:
    own = {"aw-6082": Material(name="our 6082", group="N", kc11_n_mm2=Figure(value=620, spread=0.05)),
           "bronze-8": Material(name="bronze 8", group="N", words=("CC480K",), expansion_um_m_k=Figure(value=18.2, spread=0.02))}
    changed, new = known_material("EN AW-6082", own), known_material("CC480K-GS", own)
    assert changed is not None
    assert new is not None
    assert changed.shop
    assert changed.material.kc11_n_mm2 == Figure(value=620, spread=0.05)
    assert changed.material.mc == bundled_table().material["aw-6082"].mc  # what the shop leaves out stays
    assert (new.key, group_of("CC480K", own), group_of("CC480K")) == ("bronze-8", "N", "")
    assert expansion_of("CC480K", own) == pytest.approx(18.2e-6)


def test_the_shop_folder_has_materials_and_a_wrong_one_is_refused_with_its_place(tmp_path) -> None:
    (tmp_path / "shop" / "materials").mkdir(parents=True)
    file = tmp_path / "shop" / "materials" / "bronze.toml"
    file.write_text(BRONZE)
    (tmp_path / "job.toml").write_text('format = 1\nmachine = "none"\n')
    with pytest.raises(InputRefused) as refused:
        load_job(tmp_path)
    assert not any("bronze" in str(problem.span) for problem in refused.value.problems)
    file.write_text(BRONZE.replace("spread = 0.1 ", "spread = 1.5 "))
    with pytest.raises(InputRefused) as refused:
        load_job(tmp_path)
    wrong = [problem for problem in refused.value.problems if problem.span and "bronze" in problem.span.file]
    assert [(one.span.line, one.key) for one in wrong if one.span] == [(5, "kc11_n_mm2.spread")]
