"""The built pages: files of the package, packed for the wire when they were built, under names that change with their content."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from fastapi import FastAPI, Request, Response
from fastapi.responses import FileResponse
from starlette.exceptions import HTTPException

__all__ = ["PAGES", "add_pages", "built"]

PAGES: Final = Path(__file__).resolve().parent / "static"
_FRONT: Final = "index.html"
_NAMED_BY_CONTENT: Final = "assets"
_TYPES: Final = {".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
                 ".svg": "image/svg+xml"}  # fmt: skip
_FOR_EVER: Final = "public, max-age=31536000, immutable"


def built(pages: Path = PAGES) -> bool:
    """Whether there are pages to serve."""
    return (pages / _FRONT).is_file()


def add_pages(app: FastAPI, pages: Path) -> None:
    """Serve the pages. An address that is no file is the front page's to answer, but for those under /api and /assets."""
    root = pages.resolve()

    @app.get("/{path:path}", include_in_schema=False)
    def page(request: Request, path: str) -> Response:
        wanted = _file_of(root, path)
        inside = wanted is not None and wanted.is_relative_to(root) and wanted.suffix in _TYPES
        first = path.partition("/")[0]
        if not inside and first in ("api", _NAMED_BY_CONTENT):
            raise HTTPException(404, "Not Found")
        found = wanted if wanted is not None and inside else root / _FRONT
        return _file(request, found, lasting=inside and first == _NAMED_BY_CONTENT)


def _file_of(root: Path, path: str) -> Path | None:
    """The file at an address; None where there is none, or where the address can be no file's name."""
    try:
        wanted = (root / path).resolve()
        return wanted if wanted.is_file() else None
    except (OSError, ValueError):
        return None


def _file(request: Request, file: Path, *, lasting: bool) -> Response:
    headers = {"vary": "accept-encoding", "cache-control": _FOR_EVER if lasting else "no-cache"}
    packed = file.with_name(file.name + ".gz")
    media_type = _TYPES[file.suffix]
    if "gzip" in request.headers.get("accept-encoding", "") and packed.is_file():
        return FileResponse(packed, media_type=media_type, headers=headers | {"content-encoding": "gzip"})
    return FileResponse(file, media_type=media_type, headers=headers)
