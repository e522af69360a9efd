"""The application: one record, a few workers, the addresses, and the pages if they were built into the package."""

from __future__ import annotations

import contextlib
import secrets
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Final

from fastapi import FastAPI
from fastapi.responses import FileResponse
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware

from setwright import __version__
from setwright.record.calculations import interrupt_calculations
from setwright.record.store import open_record
from setwright.web.answers import add_handlers
from setwright.web.limits import BodyLimit, BrowserRules, KnownHosts
from setwright.web.routes import calculations, jobs, session, shop, statements, stations
from setwright.web.settings import Settings
from setwright.web.worker import serve_tasks
from setwright.web.workers import Serve, Workers

__all__ = ["PAGES", "create_app"]

PAGES: Final = Path(__file__).resolve().parent / "static"
_LOCAL_NAMES: Final = ("127.0.0.1", "localhost", "::1")
_ABOUT: Final = (
    "Sets up a CNC vertical machining centre with you. A proof is a calculation about a model, never a permission to start. "
    "What changes something names the revision it was made from (If-Match) and carries the token of GET /api/session in the header "
    "X-Setwright-Token. Lengths mm, angles rad or in degrees where the key says so, times s."
)


def create_app(settings: Settings, *, serve: Serve = serve_tasks, pages: Path = PAGES) -> FastAPI:
    """The server for one record. The record is opened when the server starts, so that a record that cannot be used stops it.

    `serve` is what each worker runs in its process; `pages` the folder of the built pages, which need not be there.
    """

    @contextlib.asynccontextmanager
    async def whole_life(app: FastAPI) -> AsyncIterator[None]:
        with open_record(settings.place, database=settings.database) as record:
            interrupt_calculations(record)
            workers = Workers(count=settings.workers, waiting=settings.waiting, serve=serve)
            app.state.record, app.state.workers = record, workers
            try:
                yield
            finally:
                workers.close()

    names = {*_LOCAL_NAMES, settings.host, *settings.names}
    app = FastAPI(
        title="Setwright", version=__version__, description=_ABOUT, lifespan=whole_life,
        openapi_url="/api/openapi.json", docs_url=None, redoc_url=None,
        middleware=[
            Middleware(BrowserRules, tls=settings.tls),
            Middleware(KnownHosts, names=names),
            Middleware(BodyLimit, largest=settings.largest_upload),
        ],
    )  # fmt: skip
    app.state.settings = settings
    app.state.own_token = secrets.token_urlsafe(32)
    add_handlers(app)
    for part in (session, jobs, stations, calculations, statements, shop):
        app.include_router(part.router)
    if (pages / "index.html").is_file():
        _add_pages(app, pages)
    return app


def _add_pages(app: FastAPI, pages: Path) -> None:
    """The built pages; an address that is no file is the front page's to answer, but for those under /api."""

    @app.get("/{path:path}", include_in_schema=False)
    def page(path: str) -> FileResponse:
        if path == "api" or path.startswith("api/"):
            raise HTTPException(404, "Not Found")
        wanted = (pages / path).resolve()
        inside = wanted.is_relative_to(pages.resolve()) and wanted.is_file()
        return FileResponse(wanted if inside else pages / "index.html")
