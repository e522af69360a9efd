"""QIF results in and out: a document written by hand after ISO 23952, what is refused, and what is read back."""

from xml.etree import ElementTree

import pytest

from setwright.base.errors import InputRefused
from setwright.jobfolder.qif import Result, qif_of, read_qif

SPACE = "{http://qifstandards.org/xsd/qif3}"
BY_HAND = """\
<?xml version="1.0" encoding="UTF-8"?>
<QIFDocument xmlns="http://qifstandards.org/xsd/qif3" versionQIF="3.0.0" idMax="20">
 <FileUnits><PrimaryUnits><LinearUnit><UnitName>inch</UnitName></LinearUnit></PrimaryUnits></FileUnits>
 <Characteristics><CharacteristicItems n="2">
  <LengthCharacteristicItem id="5"><Name>depth</Name></LengthCharacteristicItem>
  <DiameterCharacteristicItem id="8"><Name>bore</Name></DiameterCharacteristicItem>
 </CharacteristicItems></Characteristics>
 <Results><MeasurementResultsSet n="2">
  <MeasurementResults id="10"><MeasuredCharacteristics><CharacteristicMeasurements n="2">
   <DiameterCharacteristicMeasurement id="11"><CharacteristicItemId>8</CharacteristicItemId>
    <TimeStamp>2026-03-03T09:05:00</TimeStamp><Value>0.5004</Value></DiameterCharacteristicMeasurement>
   <LengthCharacteristicMeasurement id="12"><CharacteristicItemId>5</CharacteristicItemId></LengthCharacteristicMeasurement>
  </CharacteristicMeasurements></MeasuredCharacteristics>
  <ActualComponentIds n="1"><Id>19</Id></ActualComponentIds></MeasurementResults>
  <MeasurementResults id="13"><MeasuredCharacteristics><CharacteristicMeasurements n="1">
   <LengthCharacteristicMeasurement id="14"><CharacteristicItemId>5</CharacteristicItemId>
    <Value linearUnit="mm">1.58</Value></LengthCharacteristicMeasurement>
  </CharacteristicMeasurements></MeasuredCharacteristics></MeasurementResults>
 </MeasurementResultsSet>
 <ActualComponentSets n="1"><ActualComponentSet n="1"><ActualComponent id="19"><SerialNumber>A7</SerialNumber></ActualComponent>
 </ActualComponentSet></ActualComponentSets></Results>
</QIFDocument>
"""


def test_values_are_found_by_their_ids_in_the_units_that_are_stated() -> None:
    bore, depth = read_qif(BY_HAND, shown="results.qif")
    assert (bore.piece, bore.name, bore.value, bore.when, bore.line) == ("A7", "bore", "0.5004 in", "2026-03-03T09:05:00", 11)
    assert (depth.piece, depth.name, depth.value, depth.line) == ("2", "depth", "1.58 mm", 17)  # no serial number: its turn


@pytest.mark.parametrize(("text", "wanted"), [
    ("<QIFDocument>", "no XML"), ("<Drawing/>", "begins with <Drawing>"), (BY_HAND.replace("Value", "Worth"), "no measured value"),
    (BY_HAND.replace("<UnitName>inch", "<UnitName>cubit"), 'lengths in "cubit"'),
    ('<!DOCTYPE a [<!ENTITY b "c">]><QIFDocument/>', "document type"),
])  # fmt: skip
def test_what_is_no_result_is_refused(text: str, wanted: str) -> None:
    with pytest.raises(InputRefused, match=wanted) as refusal:
        read_qif(text, shown="results.qif")
    assert all(problem.span is not None and problem.remedy for problem in refusal.value.problems)


RESULTS = [
    Result("1", "bore", "Diameter", 16.0, (16.0, 16.027), 16.015, "accept"),
    Result("1", "hole x", "Length", 46.0, None, 45.998, "no limits"),
    Result("2", "bore", "Diameter", 16.0, (16.0, 16.027), 16.0301234, "undecided"),
    Result("3", "bore", "Diameter", 16.0, (16.0, 16.027), 16.05, "reject"),
]


def test_what_is_written_reads_back_to_the_nanometre() -> None:
    text = qif_of(RESULTS, title="spacer", whole=("1",))
    read = [(one.piece, one.name, one.value) for one in read_qif(text, shown="out.qif")]
    assert read == [("1", "bore", "16.015 mm"), ("1", "hole x", "45.998 mm"), ("2", "bore", "16.030123 mm"),
                    ("3", "bore", "16.05 mm")]  # fmt: skip
    assert text == qif_of(RESULTS, title="spacer", whole=("1",))


def test_the_document_is_built_as_the_standard_asks() -> None:
    """Order, counts, ids and kinds of ISO 23952: a measurement, its item, nominal and definition are of one kind."""
    root = ElementTree.fromstring(qif_of(RESULTS, title="spacer", whole=("1",)))
    parts = [one.tag.removeprefix(SPACE) for one in root]
    assert parts == ["QPId", "StandardsDefinitions", "FileUnits", "Characteristics", "Results"]
    ids = {one.get("id"): one for one in root.iter() if one.get("id")}
    assert len(ids) == sum(1 for one in root.iter() if one.get("id"))
    assert max(int(number) for number in ids if number) == int(root.get("idMax", "0"))
    assert all(len(one) == int(one.get("n", "0")) for one in root.iter() if one.get("n"))
    for one in root.iter(f"{SPACE}CharacteristicMeasurements"):
        for measurement in one:
            chain, entry = [measurement.tag.removesuffix("Measurement")], measurement
            for link, end in (("Item", "Item"), ("Nominal", "Nominal"), ("Definition", "Definition")):
                entry = ids[entry.findtext(f"{SPACE}Characteristic{link}Id")]
                chain.append(entry.tag.removesuffix(end))
            assert len(set(chain)) == 1
    states = [one.findtext(f"{SPACE}Status/{SPACE}InspectionStatusEnum") for one in root.iter(f"{SPACE}ActualComponent")]
    assert states == ["PASS", "UNKNOWN", "FAIL"]
    bores = root.iter(f"{SPACE}DiameterCharacteristicMeasurement")
    told = [one.findtext(f"{SPACE}Status/{SPACE}CharacteristicStatusEnum") for one in bores]
    assert told == ["PASS", "INDETERMINATE", "FAIL"]
