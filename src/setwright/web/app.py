"""The application: one record, a few workers, the addresses, and the pages if they were built into the package."""

from __future__ import annotations

import asyncio
import contextlib
import secrets
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Final

from anyio import to_thread
from fastapi import FastAPI
from starlette.middleware import Middleware

from setwright import __version__
from setwright.record.calculations import interrupt_calculations
from setwright.record.store import open_record
from setwright.web.answers import add_handlers
from setwright.web.bench import FOLDER, Bench
from setwright.web.bounded import Bounded
from setwright.web.changes import Changes
from setwright.web.limits import BodyLimit, BrowserRules, KnownHosts, ThroughProxy
from setwright.web.pages import PAGES, add_pages, built
from setwright.web.remembered import forget_old
from setwright.web.routes import bench as bench_routes
from setwright.web.routes import calculations, jobs, measured, session, shop, statements, stations
from setwright.web.settings import Settings
from setwright.web.signin import SignedInFirst
from setwright.web.worker import serve_tasks
from setwright.web.workers import Serve, Workers, scratch_folder

__all__ = ["create_app"]

_THREADS, _WAITING = 100, 60
"""Requests that are answered at the same time, and those of them that may wait for a process for short work."""
_FORGET_EACH_S: Final = 60.0
_LOCAL_NAMES: Final = ("127.0.0.1", "localhost", "::1")
_ABOUT: Final = (
    "Sets up a CNC vertical machining centre with you. A proof is a calculation about a model, never a permission to start. "
    "What changes something names the revision it was made from (If-Match) and carries the token of GET /api/session in the header "
    "X-Setwright-Token. Lengths mm, angles rad or in degrees where the key says so, times s."
)


async def _forget() -> None:
    """Let go of old answers, whether or not anybody asks for new ones."""
    while True:
        await asyncio.sleep(_FORGET_EACH_S)
        forget_old()


def create_app(
    settings: Settings, *, serve: Serve = serve_tasks, pages: Path = PAGES, bounded: Bounded | None = None
) -> FastAPI:
    """The server for one record. The record is opened when the server starts, so that a record that cannot be used stops it.

    `serve` is what each worker runs in its process; `pages` the folder of the built pages, which need not be there; `bounded` the
    processes for short work, its own if there are none to share.
    """

    @contextlib.asynccontextmanager
    async def whole_life(app: FastAPI) -> AsyncIterator[None]:
        to_thread.current_default_thread_limiter().total_tokens = _THREADS
        with open_record(settings.place, database=settings.database) as record, scratch_folder(settings.place) as scratch:
            interrupt_calculations(record)
            workers = Workers(count=settings.workers, waiting=settings.waiting, bounds=settings.calculation, serve=serve,
                              scratch=scratch)  # fmt: skip
            short = bounded or Bounded(count=settings.readers, waiting=_WAITING, bounds=settings.short, scratch=scratch)
            bench = Bench(settings.place / FOLDER)
            app.state.changes = Changes(record)
            app.state.record, app.state.workers, app.state.bench, app.state.bounded = record, workers, bench, short
            forgetting = asyncio.create_task(_forget())
            try:
                yield
            finally:
                forgetting.cancel()
                workers.close()
                bench.close()
                if bounded is None:
                    short.close()

    names = {*_LOCAL_NAMES, settings.host, *settings.names}
    app = FastAPI(
        title="Setwright", version=__version__, description=_ABOUT, lifespan=whole_life,
        openapi_url="/api/openapi.json", docs_url=None, redoc_url=None,
        middleware=[
            *([Middleware(ThroughProxy, proxy=settings.proxy)] if settings.proxy else []),
            Middleware(BrowserRules, tls=settings.encrypted),
            Middleware(KnownHosts, names=names),
            Middleware(BodyLimit, largest=settings.largest_upload),
            Middleware(SignedInFirst),
        ],
    )  # fmt: skip
    app.state.settings = settings
    app.state.own_token = secrets.token_urlsafe(32)
    add_handlers(app)
    for part in (session, jobs, stations, measured, calculations, bench_routes, statements, shop):
        app.include_router(part.router)
    if built(pages):
        add_pages(app, pages)
    return app
