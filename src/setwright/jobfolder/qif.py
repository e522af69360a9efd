"""Measured values from and to QIF results, ISO 23952: the XML of an open standard for measurement results.

Read: every measurement of a characteristic with a value, by the name of its characteristic item, in the unit the file states; one
set of results, or one actual component, is one piece. Written: the same, with limits, the status by ISO 14253-1 and pieces by their
serial numbers. Diameters are DiameterCharacteristic, distances and coordinates LengthCharacteristic; what is no length (angles) or
a zone (flatness) is not written, and whoever asks for the file is told so.
Source: ISO 23952:2020 (QIF 3.0), application schemas QIFDocument, QIFResults and library schema Characteristics.
"""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal
from xml.etree import ElementTree
from xml.parsers import expat

from setwright.base.errors import InputRefused
from setwright.base.span import Span

__all__ = ["Result", "Shown", "qif_of", "read_qif"]

_SPACE: Final = "http://qifstandards.org/xsd/qif3"
_BY_DECISION: Final = {"accept": "PASS", "reject": "FAIL", "undecided": "INDETERMINATE", "no limits": "NOT_ANALYZED"}
_UNITS: Final = {"mm": "mm", "millimeter": "mm", "millimetre": "mm", "inch": "in", "in": "in"}
_NAMES: Final = uuid.UUID("6c5f9e3a-7f39-5d0c-9f61-0b6c8f2d4a11")


@dataclass(frozen=True, slots=True)
class Shown:
    """One value of a file: its piece, the name of its characteristic, the value as text with its unit, when, line and column."""

    piece: str
    name: str
    value: str
    when: str
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Result:
    """One judged value to be written, mm: limits None where the drawing gives none; `decision`: see piece.decision."""

    piece: str
    feature: str
    kind: Literal["Diameter", "Length"]
    nominal: float
    limits: tuple[float, float] | None
    value: float
    decision: str


def read_qif(text: str, *, shown: str) -> list[Shown]:
    """Every measured value in the order of the file. Raises InputRefused for what is no QIF, holds a document type or no value."""
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        raise InputRefused.because("the file holds a document type", why="measured values need none, and it may hide others",
                                   remedy="save the results again without it", span=Span(shown))  # fmt: skip
    try:
        root, lines = _tree(text)
    except expat.ExpatError as error:
        raise InputRefused.because(f"the file is no XML: {error}", remedy="save the results as QIF", span=Span(shown)) from None
    if _plain(root) != "QIFDocument":
        raise InputRefused.because(f"the file begins with <{_plain(root)}>", remedy="save the results as QIF, ISO 23952",
                                   span=Span(shown))  # fmt: skip
    unit = _unit(root, shown)
    names = {one.get("id", ""): (_text(one, "Name") or _text(one, "Description")) for group in _all(root, "CharacteristicItems")
             for one in group}  # fmt: skip
    serials = {one.get("id", ""): _text(one, "SerialNumber") for one in _all(root, "ActualComponent")}
    found = []
    for turn, results in enumerate(list(_all(root, "MeasurementResults")), 1):
        of_all = [serials.get((entry.text or "").strip(), "") for ids in _all(results, "ActualComponentIds") for entry in ids]
        piece = next((serial for serial in of_all if serial), str(turn))
        for one in (one for group in _all(results, "CharacteristicMeasurements") for one in group):
            value = next((child for child in one if _plain(child) == "Value"), None)
            name = names.get(_text(one, "CharacteristicItemId"), "")
            if value is not None and (value.text or "").strip() and name:
                own = serials.get(_text(one, "ActualComponentId"), "")
                said = _known(value.get("linearUnit") or unit, shown) if "Angle" not in _plain(one) else "deg"
                number = f"{(value.text or '').strip()} {said}"
                found.append(Shown(own or piece, name, number, _text(one, "TimeStamp"), *lines[value]))
    if not found:
        raise InputRefused.because("the file holds no measured value", why="no measurement of a named characteristic has a value",
                                   remedy="save the results with their values", span=Span(shown))  # fmt: skip
    return found


def _tree(text: str) -> tuple[ElementTree.Element, dict[ElementTree.Element, tuple[int, int]]]:
    """The elements of a text, and line and column in which each begins. Raises ExpatError where it is no XML."""
    builder, parser = ElementTree.TreeBuilder(), expat.ParserCreate("utf-8", namespace_separator="}")
    lines: dict[ElementTree.Element, tuple[int, int]] = {}

    def start(name: str, attributes: dict[str, str]) -> None:
        lines[builder.start(name, attributes)] = (parser.CurrentLineNumber, parser.CurrentColumnNumber + 1)

    parser.StartElementHandler, parser.EndElementHandler = start, builder.end
    parser.CharacterDataHandler = builder.data
    parser.Parse(text.encode("utf-8"), True)
    return builder.close(), lines


def _plain(element: ElementTree.Element) -> str:
    """The name of an element without its namespace."""
    return element.tag.rsplit("}", 1)[-1]


def _all(element: ElementTree.Element, name: str) -> Iterator[ElementTree.Element]:
    return (one for one in element.iter() if _plain(one) == name)


def _text(element: ElementTree.Element, name: str) -> str:
    return next(((one.text or "").strip() for one in element if _plain(one) == name), "")


def _unit(root: ElementTree.Element, shown: str) -> str:
    """The unit of lengths of the whole file."""
    primary = next(_all(root, "PrimaryUnits"), root)
    return _known(next((_text(one, "UnitName") for one in _all(primary, "LinearUnit")), "mm"), shown)


def _known(unit: str, shown: str) -> str:
    if unit.lower() not in _UNITS:
        raise InputRefused.because(f'the file states lengths in "{unit}"', remedy="save it in mm or inch", span=Span(shown))
    return _UNITS[unit.lower()]


def qif_of(results: Sequence[Result], *, title: str, whole: Collection[str]) -> str:
    """A QIF document of these results, deterministic: the same results give the same text. Lengths in mm. `whole`: the pieces of
    which every requirement was measured; only these can be told as good."""
    writer = _Writer()
    root = writer.open(None, "QIFDocument", xmlns=_SPACE, versionQIF="3.0.0", idMax="0")
    writer.said(root, "QPId", str(uuid.uuid5(_NAMES, repr((title, list(results))))))
    standards = writer.open(root, "StandardsDefinitions", n="1")
    standard, standard_id = writer.numbered(standards, "Standard")
    writer.said(writer.open(standard, "Organization"), "StandardsOrganizationEnum", "ISO")
    writer.said(standard, "Designator", "ISO 1101")
    linear = writer.open(writer.open(writer.open(root, "FileUnits"), "PrimaryUnits"), "LinearUnit")
    writer.said(linear, "SIUnitName", "meter")
    writer.said(linear, "UnitName", "mm")
    writer.said(writer.open(linear, "UnitConversion"), "Factor", "0.001")
    of = writer.open(root, "Characteristics")
    writer.said(of, "FormalStandardId", standard_id)
    features = {one.feature: one for one in results}
    items = _characteristics(writer, of, list(features.values()))
    _results(writer, root, results, items, whole)
    root.set("idMax", str(writer.last))
    ElementTree.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(root, encoding="unicode") + "\n"


class _Writer:
    """Elements with running ids."""

    def __init__(self) -> None:
        self.last = 0

    def open(self, parent: ElementTree.Element | None, name: str, **attributes: str) -> ElementTree.Element:
        """A new element inside `parent`."""
        return ElementTree.Element(name, attributes) if parent is None else ElementTree.SubElement(parent, name, attributes)

    def said(self, parent: ElementTree.Element, name: str, text: str) -> None:
        """A new element with a text."""
        self.open(parent, name).text = text

    def numbered(self, parent: ElementTree.Element, name: str) -> tuple[ElementTree.Element, str]:
        """A new element with the next id, and that id."""
        self.last += 1
        return self.open(parent, name, id=str(self.last)), str(self.last)


def _characteristics(writer: _Writer, of: ElementTree.Element, features: Sequence[Result]) -> dict[str, str]:
    """Definition, nominal and item of every feature; the ids of the items by feature."""
    count = str(len(features))
    kinds = ("Definitions", "Nominals", "Items")
    definitions, nominals, items = (writer.open(of, f"Characteristic{kind}", n=count) for kind in kinds)
    found = {}
    for one in features:
        name = f"{one.kind}Characteristic"
        definition, definition_id = writer.numbered(definitions, f"{name}Definition")
        if one.limits is None:
            writer.open(definition, "NonTolerance")
        else:
            tolerance = writer.open(definition, "Tolerance")
            writer.said(tolerance, "MaxValue", _number(one.limits[1]))
            writer.said(tolerance, "MinValue", _number(one.limits[0]))
            writer.said(tolerance, "DefinedAsLimit", "true")
        nominal, nominal_id = writer.numbered(nominals, f"{name}Nominal")
        writer.said(nominal, "CharacteristicDefinitionId", definition_id)
        writer.said(nominal, "TargetValue", _number(one.nominal))
        item, found[one.feature] = writer.numbered(items, f"{name}Item")
        writer.said(item, "Name", one.feature)
        writer.said(item, "CharacteristicNominalId", nominal_id)
    return found


def _results(writer: _Writer, root: ElementTree.Element, results: Sequence[Result], items: dict[str, str],
             whole: Collection[str]) -> None:  # fmt: skip
    pieces = list(dict.fromkeys(one.piece for one in results))
    everything = writer.open(root, "Results")
    sets = writer.open(everything, "MeasurementResultsSet", n=str(len(pieces)))
    states = {piece: _state([one.decision for one in results if one.piece == piece], whole=piece in whole)
              for piece in pieces}  # fmt: skip
    parts = writer.open(writer.open(everything, "ActualComponentSets", n="1"), "ActualComponentSet", n=str(len(pieces)))
    for piece in pieces:
        part, part_id = writer.numbered(parts, "ActualComponent")
        writer.said(part, "SerialNumber", piece)
        writer.said(writer.open(part, "Status"), "InspectionStatusEnum", states[piece])
        mine = [one for one in results if one.piece == piece]
        here, _ = writer.numbered(sets, "MeasurementResults")
        measured = writer.open(writer.open(here, "MeasuredCharacteristics"), "CharacteristicMeasurements", n=str(len(mine)))
        for one in mine:
            entry, _ = writer.numbered(measured, f"{one.kind}CharacteristicMeasurement")
            writer.said(writer.open(entry, "Status"), "CharacteristicStatusEnum", _BY_DECISION[one.decision])
            writer.said(entry, "CharacteristicItemId", items[one.feature])
            writer.said(entry, "Value", _number(one.value))
        writer.said(writer.open(here, "InspectionStatus"), "InspectionStatusEnum", states[piece])
        writer.said(writer.open(here, "ActualComponentIds", n="1"), "Id", part_id)


def _state(decisions: Sequence[str], *, whole: bool) -> str:
    """Of a piece: one bad value makes it bad; good it is where every requirement was measured and proved good."""
    if "reject" in decisions:
        return "FAIL"
    return "PASS" if whole and "undecided" not in decisions else "UNKNOWN"


def _number(mm: float) -> str:
    """To the nanometre, without idle zeros."""
    return f"{mm:.6f}".rstrip("0").rstrip(".")
