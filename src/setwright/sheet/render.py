"""The sheet as a PDF: the page template filled with the worded content, the drawing and the square code."""

from __future__ import annotations

import json
import os
import tempfile
from io import BytesIO
from pathlib import Path
from typing import Any, Final, Literal

import segno
import typst

from setwright.base.errors import InputRefused, SetwrightError
from setwright.sheet.content import SheetContent
from setwright.sheet.drawing import draw_setup
from setwright.sheet.layout import laid_out

__all__ = ["PAPERS", "SheetFault", "preview", "render"]

PAPERS: Final = {"A4": "a4", "Letter": "us-letter"}
"""The papers a sheet can be printed on."""
_HERE: Final = Path(__file__).resolve().parent
_FONTS: Final = _HERE / "fonts"
_DRAWING_MM: Final = (112.0, 162.0)


class SheetFault(SetwrightError):
    """The page could not be set although its content is sound: a fault of this package, not of the job."""


def render(content: SheetContent, *, paper: str = "A4", out: Path) -> None:
    """Write the sheet as PDF to `out`, whole or not at all; the same content gives the same bytes.

    `paper` is "A4" or "Letter" in any case. Raises `InputRefused` for another paper or a place that cannot be written,
    `SheetFault` if the page setter complains about anything.
    """
    pdf = _set(content, _paper(paper), "pdf")[0]
    try:
        _replace(out, pdf)
    except OSError as error:
        raise InputRefused.because(f"{out} cannot be written", why=str(error.strerror or error),
                                   remedy="name a folder that exists and that you may write to") from error  # fmt: skip


def preview(content: SheetContent, *, paper: str = "A4") -> list[bytes]:
    """The same pages as pictures (SVG), one after the other; errors as in `render`."""
    return _set(content, _paper(paper), "svg")


def _paper(paper: str) -> str:
    name = next((known for known in PAPERS if known.casefold() == paper.casefold()), None)
    if name is None:
        raise InputRefused.because(f'no paper "{paper}"', remedy=f"write one of {', '.join(PAPERS)}")
    return PAPERS[name]


def _set(content: SheetContent, paper: str, kind: Literal["pdf", "svg"]) -> list[bytes]:
    """The document's bytes, of pictures one for each page. Everything the template reads lies in one fresh folder; nothing comes
    from the network or the system."""
    drawing = draw_setup(content, width=_DRAWING_MM[0], height=_DRAWING_MM[1])
    document = laid_out(content) | {"paper": paper, "drawing_width": drawing.width}
    with tempfile.TemporaryDirectory(prefix="setwright-sheet-") as folder:
        root = Path(folder)
        (root / "sheet.typ").write_bytes((_HERE / "sheet.typ").read_bytes())
        (root / "content.json").write_text(json.dumps(document, ensure_ascii=False, allow_nan=False), encoding="utf-8")
        (root / "drawing.svg").write_text(drawing.svg, encoding="utf-8")
        (root / "code.svg").write_bytes(_square_code(content.link or content.digest or content.title))
        try:
            made: Any
            made, warnings = typst.compile_with_warnings(
                str(root / "sheet.typ"), root=folder, font_paths=[str(_FONTS)], ignore_system_fonts=True, format=kind, timestamp=0
            )
        except typst.TypstError as error:
            raise SheetFault(f"the page could not be set: {error}") from error
    if warnings:
        raise SheetFault("the page was set, but with complaints: " + "; ".join(str(warning) for warning in warnings))
    pages: list[Any] = made if isinstance(made, list) else [made]
    if not pages or not all(isinstance(page, bytes) for page in pages):
        raise SheetFault("the page setter gave no document")
    return pages


def _square_code(words: str) -> bytes:
    held = BytesIO()
    segno.make(words, error="m", micro=False).save(held, kind="svg", border=0, xmldecl=False)
    return held.getvalue()


def _replace(out: Path, data: bytes) -> None:
    handle, name = tempfile.mkstemp(dir=out.parent, prefix=f".{out.name}-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.chmod(name, 0o644)
        os.replace(name, out)
    except BaseException:
        os.unlink(name)
        raise
