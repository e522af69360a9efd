"""The one table of materials: what comes along, the shop's own figures before it, and how the words of a job find their entry."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Final

from setwright.model.material import Figure, Material, MaterialGroup, MaterialTable

__all__ = ["NamedMaterial", "bundled_table", "expansion_of", "group_of", "known_material", "speed_most_m_min", "unsure_of"]

_STEEL: Final = "steel"
_PER_MILLION: Final = 1_000_000.0


@dataclass(frozen=True, slots=True)
class NamedMaterial:
    """A material that a text names. `stated`: whether a grade is named, not only the family; `group`: what its group has, None for
    plastics; `shop`: whether the shop has figures of its own for it."""

    key: str
    material: Material
    group: MaterialGroup | None
    stated: bool
    shop: bool = False


@cache
def bundled_table() -> MaterialTable:
    """The table that comes along."""
    text = (resources.files("setwright.load") / "materials.toml").read_text("utf-8")
    return MaterialTable.model_validate(tomllib.loads(text))


def known_material(text: str, shop: Mapping[str, Material] | None = None) -> NamedMaterial | None:
    """The material that a job's words name: an entry by its key or name, else by a grade, else the family; None where they name
    none. Two grades at once name none of them, and leave the family. The shop's figures go before those that come along.

    >>> known_material("EN AW-6082-T6").key, known_material("aluminium").stated, known_material("")
    ('aw-6082', False, None)
    """
    table, own = bundled_table(), shop or {}
    everything = {**table.material, **{key: _over(table.material.get(key), mine) for key, mine in own.items()}}
    said = text.strip().upper()
    if not said:
        return None
    named = [key for key, one in everything.items() if said in (key.upper(), one.name.upper())]
    graded = [key for key, one in everything.items() if any(_names(said, word.upper()) for word in one.words)]
    for keys in (named, [key for key in graded if key in own], graded):
        if len(keys) == 1:
            return _known(keys[0], everything[keys[0]], stated=True, shop=keys[0] in own)
    family = next((key for key, pattern in table.pattern.items() if re.search(pattern, said)), None)
    if family is None:
        return None
    one = _over(table.family[family], own[family]) if family in own else table.family[family]
    return _known(family, one, stated=False, shop=family in own)


def _known(key: str, material: Material, *, stated: bool, shop: bool) -> NamedMaterial:
    group = bundled_table().group.get(material.group)
    return NamedMaterial(key, material, group, stated, shop)


def _over(base: Material | None, mine: Material) -> Material:
    """The shop's entry, with what it leaves out taken from the one that comes along under the same key."""
    if base is None:
        return mine
    return base.model_copy(update={name: getattr(mine, name) for name in mine.model_fields_set})


def _names(said: str, word: str) -> bool:
    """Whether a text has a grade as a word of its own, blanks in it or not."""
    pattern = _whole_word(word)
    return bool(pattern.search(said) or pattern.search(said.replace(" ", "")))


@cache
def _whole_word(word: str) -> re.Pattern[str]:
    before = r"(?<![\d.])" if word[0].isdigit() else r"(?<![A-Z])"
    return re.compile(before + re.escape(word) + r"(?!\d)")


def group_of(text: str, shop: Mapping[str, Material] | None = None) -> str:
    """The ISO 513 group of a material in words, "" where nothing tells it or it has none."""
    known = known_material(text, shop)
    return "" if known is None or known.group is None else known.material.group


def speed_most_m_min(group: str) -> float:
    """The highest start value of carbide mills in a group, m/min; "": the highest of all."""
    groups = bundled_table().group
    return groups[group].mill_speed_m_min.high if group else max(one.mill_speed_m_min.high for one in groups.values())  # type: ignore[index]


def expansion_of(text: str, shop: Mapping[str, Material] | None = None) -> float:
    """Linear expansion by the words of the job's material, 1/K; that of steel where none is known.

    >>> round(expansion_of("EN AW-6082 T6") * 1e6, 1), round(expansion_of("C45") * 1e6, 1)
    (23.0, 11.5)
    """
    known = known_material(text, shop)
    own = known.material.expansion_um_m_k if known is not None else None
    steel = bundled_table().family[_STEEL].expansion_um_m_k
    assert steel is not None
    return (own or steel).value / _PER_MILLION


def unsure_of(material: Material) -> tuple[str, ...]:
    """The figures of a material whose source nobody has read, by their keys."""
    figures = {name: getattr(material, name) for name in type(material).model_fields}
    return tuple(name for name, one in figures.items() if isinstance(one, Figure) and not one.sure)
