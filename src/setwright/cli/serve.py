"""Serve the record and the stations to other programs over HTTP."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from setwright.cli.common import guarded

__all__ = ["NAME", "command"]

NAME = "serve"
_READABLE = (
    "WARNING: passwords and everything else go over the network for anybody there to read. Give it a certificate (--certificate, "
    "--key), or put a proxy with HTTPS before it and name that (--proxy)."
)


def command(
    *,
    record: Annotated[Path | None, typer.Option("--record", help="The record's folder.", metavar="DIR")] = None,
    database: Annotated[str, typer.Option("--database", help="A PostgreSQL database instead of a file.", metavar="ADDRESS")] = "",
    host: Annotated[str, typer.Option("--host", help="Where to listen; not only here takes --accounts.")] = "127.0.0.1",
    port: Annotated[int, typer.Option("--port", help="The port to listen on.", min=1, max=65535)] = 8420,
    accounts: Annotated[bool, typer.Option("--accounts", help="People sign in; see: setwright record person.")] = False,
    name: Annotated[list[str] | None, typer.Option(help="A host name browsers may use (repeatable).", metavar="HOST")] = None,
    certificate: Annotated[Path | None, typer.Option(help="Certificate for HTTPS (PEM).", metavar="FILE")] = None,
    key: Annotated[Path | None, typer.Option("--key", help="Its private key (PEM).", metavar="FILE")] = None,
    proxy: Annotated[str, typer.Option("--proxy", help="A proxy before it that speaks HTTPS; only that one is answered.",
                                       metavar="ADDRESS")] = "",
    workers: Annotated[int | None, typer.Option("--workers", help="Calculations at the same time.", min=1, max=64)] = None,
) -> None:
    """Serve until Ctrl-C."""

    def work() -> None:
        import uvicorn

        from setwright.record.people import Role, people
        from setwright.record.store import open_record
        from setwright.web.app import create_app
        from setwright.web.limits import CONNECTION
        from setwright.web.settings import Settings, default_place, default_workers

        tls = _tls_files(certificate, key)
        address = database or os.environ.get("SETWRIGHT_DATABASE", "")
        settings = Settings(place=record or default_place(), database=address, host=host, accounts=accounts, tls=bool(tls),
                            proxy=proxy, names=tuple(name or ()), workers=workers or default_workers())  # fmt: skip
        with open_record(settings.place, database=address) as held:
            if accounts and not any(one.role is Role.ADMINISTRATOR and one.active for one in people(held)):
                _refuse_nobody()
        shown = f"[{host}]" if ":" in host else host
        scheme = "https" if tls else "http"
        typer.echo(f"Setwright is served at {scheme}://{shown}:{port} from the record in {settings.place}. Ctrl-C ends it.")
        if settings.readable_by_others:
            typer.echo(_READABLE, err=True)
        serve: Callable[..., None] = uvicorn.run
        wanted = {"host": host, "port": port, "log_level": "warning", "timeout_graceful_shutdown": 3}
        serve(create_app(settings), **wanted, **CONNECTION, **tls)

    guarded(NAME, work, as_json=False)


def _tls_files(certificate: Path | None, key: Path | None) -> dict[str, str]:
    from setwright.base.errors import InputRefused

    if certificate is None and key is None:
        return {}
    for path, option in ((certificate, "--certificate"), (key, "--key")):
        if path is None or not path.is_file():
            said = f"{option} is missing" if path is None else f"{option}: there is no file {path}"
            raise InputRefused.because(said, remedy="HTTPS takes both a certificate and its key")
    return {"ssl_certfile": str(certificate), "ssl_keyfile": str(key)}


def _refuse_nobody() -> None:
    from setwright.base.errors import InputRefused

    remedy = "add one with: setwright record person NAME --role administrator"
    raise InputRefused.because("nobody could sign in: the record knows no administrator", remedy=remedy)
