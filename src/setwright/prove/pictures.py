"""A small drawing of the place a finding speaks of, as SVG: metal, holding and tool in section, and a ring round the place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.units import format_length
from setwright.model.finding import Finding
from setwright.prove.section import Outline, Section, section_of
from setwright.prove.station import Proof

__all__ = ["picture_of", "pictures_of"]

_SIDE: Final = 440.0
_HEAD, _FOOT = 24.0, 44.0
_EDGE: Final = 10.0
_FILL: Final = {"metal": "#d5d8dc", "cutter": "#56b4e9", "neck": "#e69f00", "shank": "#e69f00", "holder": "#cc79a7",
                "spindle nose": "#cc79a7"}  # fmt: skip
_HOLDING: Final = "#8a8f98"
_INK: Final = "#1b1b1b"
_MM: Final = {"mm": 1.0, "in": 25.4}
_ROUND: Final = {"mm": (1.0, 2.0, 5.0, 10.0, 20.0, 50.0), "in": (0.05, 0.1, 0.2, 0.5, 1.0, 2.0)}
"""Lengths of the scale bar, in each unit."""


def pictures_of(proof: Proof) -> Iterator[tuple[Finding, str]]:
    """The drawing of every finding that has a place, worst first."""
    for finding in proof.findings:
        picture = picture_of(proof, finding)
        if picture is not None:
            yield finding, picture


def picture_of(proof: Proof, finding: Finding) -> str | None:
    """The drawing of one finding as an SVG document; None for a finding without a place.

    An upright section through the place, along the motion: what is in the plane is drawn to scale, each part named; lengths in the
    job's unit. Metal is drawn as wide as its rays stand apart.
    """
    section = section_of(proof, finding)
    return None if section is None else _Sheet(section, proof.kit.folder.units).document(_heading(finding), proof)


def _heading(finding: Finding) -> str:
    where = f", {finding.file}:{finding.line}" if finding.line else ""
    return finding.slug.replace("-", " ") + where


def _name(x: float, y: float, what: str) -> str:
    return (f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="middle" stroke="#ffffff" stroke-width="3" paint-order="stroke">'
            f"{escape(what)}</text>")  # fmt: skip


class _Sheet:
    """Places of the section's plane on the paper."""

    def __init__(self, section: Section, units: str) -> None:
        self._section, self._units = section, units
        self._scale = (_SIDE - 2 * _EDGE) / (2 * section.half)

    def _on_paper(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        section = self._section
        x = _SIDE / 2 + (points[:, 0] - section.at[section.level]) * self._scale
        y = _HEAD + _SIDE / 2 - (points[:, 1] - section.at[2]) * self._scale
        return np.column_stack([x, y])

    def document(self, heading: str, proof: Proof) -> str:
        section, height = self._section, _HEAD + _SIDE + _FOOT
        shapes = [*self._filled(section.metal), *self._filled(section.bodies), *self._filled(section.tool), *self._way()]
        names = [*self._metal_name(), *self._names(section.bodies), *self._names(section.tool)]
        cut_at = f"section at {'XY'[section.axis]}{format_length(section.at[section.axis], self._units)}"
        seen = "seen from the front" if section.axis == 1 else "seen from the left, Y to the right"
        return "\n".join([
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_SIDE:g} {height:g}" width="{_SIDE:g}" height="{height:g}" '
            f'role="img" font-family="sans-serif" font-size="12" fill="{_INK}">',
            f"<title>{escape(heading)}</title>",
            f'<rect width="{_SIDE:g}" height="{height:g}" fill="#ffffff"/>',
            f'<text x="{_EDGE:g}" y="16" font-weight="bold">{escape(heading)}</text>',
            f'<clipPath id="frame"><rect x="{_EDGE:g}" y="{_HEAD + _EDGE:g}" width="{_SIDE - 2 * _EDGE:g}" '
            f'height="{_SIDE - 2 * _EDGE:g}"/></clipPath>',
            '<g clip-path="url(#frame)">', *shapes, self._ring(), "</g>", *names,
            f'<rect x="{_EDGE:g}" y="{_HEAD + _EDGE:g}" width="{_SIDE - 2 * _EDGE:g}" height="{_SIDE - 2 * _EDGE:g}" fill="none" '
            f'stroke="{_INK}"/>',
            *self._way_name(), *self._scale_bar(),
            f'<text x="{_EDGE:g}" y="{height - 8:g}">{escape(cut_at)}, {escape(seen)}, setup {escape(proof.kit.setup.name)}</text>',
            "</svg>", "",
        ])  # fmt: skip

    def _filled(self, outlines: Sequence[Outline]) -> Iterator[str]:
        for outline in outlines:
            points = " ".join(f"{x:.2f},{y:.2f}" for x, y in self._on_paper(outline.points).tolist())
            if len(outline.points) == 2:
                yield f'<polyline points="{points}" fill="none" stroke="{_INK}"/>'
                continue
            fill = _FILL.get(outline.what, _HOLDING)
            # strips of metal side by side are one piece: no gap of light and no line between them
            paint = f'stroke="{fill}"' if outline.what == "metal" else f'fill-opacity="0.85" stroke="{_INK}"'
            yield f'<polygon points="{points}" fill="{fill}" {paint}/>'

    def _way(self) -> Iterator[str]:
        if len(self._section.way) > 1:
            points = " ".join(f"{x:.2f},{y:.2f}" for x, y in self._on_paper(self._section.way).tolist())
            yield f'<polyline points="{points}" fill="none" stroke="{_INK}" stroke-dasharray="6 4"/>'

    def _way_name(self) -> Iterator[str]:
        """What the broken line is, under the picture."""
        if len(self._section.way) > 1:
            y = _HEAD + _SIDE + 8.0
            yield f'<path d="M{_EDGE:g} {y:g}h34" stroke="{_INK}" stroke-dasharray="6 4"/>'
            yield f'<text x="{_EDGE + 40:g}" y="{y + 4:g}">way of the tip</text>'

    def _ring(self) -> str:
        x, y = _SIDE / 2, _HEAD + _SIDE / 2
        return f'<circle cx="{x:g}" cy="{y:g}" r="14" fill="none" stroke="#d55e00" stroke-width="3"/>'

    def _metal_name(self) -> Iterator[str]:
        """In the lower corner, on the outermost strip of metal that reaches well into the picture."""
        for outline in self._section.metal:
            (x, y), (right, bottom) = self._on_paper(outline.points)[[3, 1]].tolist()
            low = min(bottom, _HEAD + _SIDE - _EDGE)
            if low - max(y, _HEAD + _EDGE) > 20.0 and (x + right) / 2 > _EDGE + 24.0:
                yield _name((x + right) / 2, low - 8.0, "metal")
                return

    def _names(self, outlines: Sequence[Outline]) -> Iterator[str]:
        """The name of each part once, in the middle of what is seen of it."""
        named = set()
        for outline in outlines:
            paper = self._on_paper(outline.points)
            low = np.maximum(paper.min(axis=0), [_EDGE, _HEAD + _EDGE])
            high = np.minimum(paper.max(axis=0), [_SIDE - _EDGE, _HEAD + _SIDE - _EDGE])
            if outline.what in named or (high - low).min() < 14.0:
                continue
            named.add(outline.what)
            x, y = ((low + high) / 2).tolist()
            yield _name(x, y, outline.what)

    def _scale_bar(self) -> Iterator[str]:
        sizes, unit = _ROUND[self._units], _MM[self._units] * self._scale
        most = (_SIDE - 2 * _EDGE) / 3 / unit
        size = max((value for value in sizes if value <= most), default=sizes[0])
        end, y = _SIDE - _EDGE, _HEAD + _SIDE + 8.0
        begin = end - size * unit
        yield f'<path d="M{begin:.2f} {y - 4:g}v8M{end:g} {y - 4:g}v8M{begin:.2f} {y:g}H{end:g}" stroke="{_INK}" fill="none"/>'
        yield f'<text x="{end:g}" y="{y + 16:g}" text-anchor="end">{size:g} {self._units}</text>'
