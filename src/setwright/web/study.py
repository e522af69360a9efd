"""What a worker does for Hover: the study of a job's setups, and one supposition followed, as documents."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from setwright.base.errors import InputRefused
from setwright.model.answer import document
from setwright.web.answers import JSON_TYPE, encoded
from setwright.web.made import Made

if TYPE_CHECKING:
    from setwright.hover.station import HoverResult
    from setwright.jobfolder.load import JobFolder
    from setwright.prove.station import Proof
    from setwright.touch.station import TouchResult

__all__ = ["study", "supposed"]

Progress = Callable[[str, int, int], None]


def study(
    folder: JobFolder, proofs: Sequence[Proof], touched: Mapping[str, TouchResult], options: Mapping[str, Any], *, units: str,
    progress: Progress,
) -> Made:  # fmt: skip
    """Slips, checks, plan and hold points of every setup; what was seen belongs to the first of them."""
    from setwright.hover.station import CATCH, hover

    catch = float(options["catch_percent"]) / 100.0 if options.get("catch_percent") else CATCH
    results = [
        hover(proof, touched.get(proof.kit.setup.name), catch=catch, minutes=options.get("within_min"), units=units,
              seen=tuple(options.get("seen") or ()) if number == 0 else (), pitch_mm=options.get("pitch_mm"), progress=progress)
        for number, proof in enumerate(proofs)
    ]  # fmt: skip
    documents = [_of_setup(result, units) for result in results]
    doubts = [doubt for proof in proofs for doubt in proof.truth.doubts]
    findings = [*doubts, *(finding for result in results for finding in result.findings)]
    body = {**documents[0], "setups": documents}
    return Made("hover.json", JSON_TYPE, encoded(document("hover", body, job=folder.name, units=units, findings=findings)))


def _of_setup(result: HoverResult, units: str) -> dict[str, Any]:
    """The study of a setup; what the sheet says at each check stands there in the units of the document, and `could_see` has every
    check that can be made here, in the plan or not, for what looks odd."""
    plain = result.as_plain(units)
    could_see = [{"slug": check.slug, "on": check.on or None, "name": check.check.name, "sees": check.sees_plain(units)}
                 for check in result.matrix.checks]  # fmt: skip
    return plain | {"could_see": could_see}


def supposed(
    folder: JobFolder, proofs: Sequence[Proof], options: Mapping[str, Any], *, units: str, progress: Progress
) -> Made:
    """What would happen in the first of the setups if what is supposed were true."""

    from setwright.hover.reference import reference_of
    from setwright.hover.whatif import parse_if, what_if
    from setwright.slips.world import as_set

    texts = list(options.get("suppose") or ())
    if not texts:
        raise InputRefused.because("nothing is supposed", remedy='write for example "T3 length +0.5 mm"', key="suppose")
    proof = proofs[0]
    progress("following what is supposed", 0, 1)
    world = as_set(proof.kit, proof.truth, metal=None if proof.kit.blank is not None else proof.before)
    reference = reference_of(world, pitch_mm=options.get("pitch_mm"))
    suppositions = [parse_if(text, reference.course.case) for text in texts]
    found = what_if(world, suppositions, reference=reference)
    body = {"setup": proof.kit.setup.name, "suppositions": [{"text": one.text, "words": one.words} for one in suppositions],
            "consequence": found.as_plain(units)}  # fmt: skip
    return Made("suppose.json", JSON_TYPE, encoded(document("suppose", body, job=folder.name, units=units)))
