"""The one shape of every answer, and of every refusal: the same documents as the command line's."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Hashable, Mapping
from typing import Any, Final

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException

from setwright.base.errors import InputRefused, Problem, SetwrightError
from setwright.model.answer import finite, refusal_document
from setwright.record.refusals import Clashing
from setwright.web.refusals import status_of
from setwright.web.remembered import Packed, remembered

__all__ = ["JSON_TYPE", "add_handlers", "encoded", "remembered_answer", "said"]

JSON_TYPE: Final = "application/json"
_log = logging.getLogger("setwright.web")


def encoded(value: Any) -> bytes:
    """JSON; what is not a number becomes null."""
    return json.dumps(finite(value), ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def said(value: Any, *, status: int = 200, headers: Mapping[str, str] | None = None) -> Response:
    """A JSON answer."""
    return Response(encoded(value), status_code=status, media_type=JSON_TYPE, headers=dict(headers or {}))


def remembered_answer(key: Hashable, make: Callable[[], bytes], *, headers: Mapping[str, str]) -> Response:
    """An encoded answer that follows from `key` alone, worked out once."""
    packed = remembered(key, lambda: Packed(make(), {}), size=lambda made: made.size)
    return Response(packed.data, media_type=JSON_TYPE, headers=dict(headers))


def add_handlers(app: FastAPI) -> None:
    """Turn everything that can go wrong into a refusal of the one shape."""

    @app.exception_handler(InputRefused)
    def _refused(request: Request, error: InputRefused) -> Response:
        document = refusal_document(_command(request), error)
        if isinstance(error, Clashing):
            document |= {"clashes": error.clashes, "newest": error.newest}
        return said(document, status=status_of(error))

    @app.exception_handler(SetwrightError)
    def _fault(request: Request, error: SetwrightError) -> Response:
        _log.error("%s: %s", request.url.path, error)
        return said(_fault_document(request, str(error)), status=500)

    @app.exception_handler(RequestValidationError)
    def _unfit(request: Request, error: RequestValidationError) -> Response:
        problems = [_problem(detail) for detail in error.errors()]
        return said(refusal_document(_command(request), InputRefused(problems)), status=422)

    @app.exception_handler(HTTPException)
    def _http(request: Request, error: HTTPException) -> Response:
        remedy = "see the list of addresses in /api/openapi.json"
        refusal = InputRefused.because(f"{request.method} {request.url.path}: {error.detail}", remedy=remedy)
        return said(refusal_document(_command(request), refusal), status=error.status_code, headers=error.headers)

    @app.exception_handler(Exception)
    def _unforeseen(request: Request, error: Exception) -> Response:
        _log.error("unforeseen at %s", request.url.path, exc_info=error)
        return JSONResponse(_fault_document(request, "the server met something it did not foresee"), status_code=500)


def _fault_document(request: Request, text: str) -> dict[str, Any]:
    remedy = "the server's log has the details; nothing was half-written"
    return refusal_document(_command(request), InputRefused.because(text, remedy=remedy))


def _command(request: Request) -> str:
    """The last word of the address that is no name or number: what was asked for."""
    route = request.scope.get("route")
    words = [word for word in str(getattr(route, "path", "")).split("/") if word and not word.startswith("{")]
    return words[-1] if words else "api"


def _problem(detail: Mapping[str, Any]) -> Problem:
    place, text = ".".join(str(part) for part in detail["loc"]), str(detail["msg"])
    return Problem(f"{place}: {text[:1].lower()}{text[1:]}", remedy="correct it and send it again", key=place)
