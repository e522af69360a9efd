"""The addresses as a contract; units in every name; one shape of refusal; no fault shown to the outside."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from setwright.base.errors import InputRefused, LimitReached, Problem, SetwrightError
from setwright.base.span import Span
from setwright.model.answer import refusal_document
from setwright.record import refusals as of_record
from setwright.web import refusals as of_web
from setwright.web.answers import add_handlers, encoded
from setwright.web.columns import columns
from setwright.web.refusals import status_of
from tests.web.snapshot import SNAPSHOT, contract
from tests.web.workbench import refused


def test_the_addresses_are_those_agreed_upon() -> None:
    assert contract() == json.loads(SNAPSHOT.read_text(encoding="utf-8")), "a wanted change? python -m tests.web.snapshot"


def test_every_address_says_what_it_is_for() -> None:
    for path, methods in contract()["paths"].items():
        for method, said in methods.items():
            assert said["summary"], (method, path)
            assert said["description"].endswith("."), (method, path)


def test_every_address_has_its_line_in_the_guide() -> None:
    guide = (Path(__file__).resolve().parents[2] / "docs" / "record.md").read_text(encoding="utf-8")
    missing = [f"{method.upper()} {path}" for path, methods in contract()["paths"].items() for method in methods
               if f"`{method.upper()} {path}`" not in guide]  # fmt: skip
    assert missing == []


def test_every_answer_has_a_shape_or_is_bytes() -> None:
    for path, methods in contract()["paths"].items():
        for method, said in methods.items():
            (good,) = (answer for status, answer in said["responses"].items() if status.startswith("2"))
            for content in good.get("content", {}).values():
                assert "$ref" in content["schema"], (method, path)


def test_a_number_in_a_request_names_its_unit() -> None:
    document = contract()
    schemas = document["components"]["schemas"]
    asked = [said["requestBody"]["content"] for methods in document["paths"].values() for said in methods.values()
             if "requestBody" in said]  # fmt: skip
    schemed = [content["schema"] for one in asked for content in one.values()]
    names = {schema["$ref"].rpartition("/")[2] for schema in schemed if "$ref" in schema}
    assert len(names) >= 10
    for name in names:
        for key, field in schemas[name].get("properties", {}).items():
            kinds = {field.get("type"), *(one.get("type") for one in field.get("anyOf", []))}
            assert "number" not in kinds or re.search(r"_(mm|deg|s|min|rpm|in|percent)$", key), (name, key)


def test_every_refusal_has_a_status_of_its_own_kind() -> None:
    kinds = [getattr(module, name) for module in (of_record, of_web) for name in module.__all__]
    kinds = [kind for kind in kinds if isinstance(kind, type)]
    assert len(kinds) >= 9
    for kind in kinds:
        more = ([], 1) if kind is of_record.Clashing else ()
        assert status_of(kind(Problem("x"), *more)) != 422, kind
    assert status_of(InputRefused(Problem("x"))) == 422
    assert status_of(LimitReached(Problem("x"))) == 413


def test_a_refusal_names_place_reason_and_remedy() -> None:
    span = Span("job.toml", 3, 5, 2, "abc = 1 2")
    refusal = InputRefused.because("two values", why="one is wanted", remedy="keep one", span=span, key="abc")
    document = refusal_document("kit", refusal)
    finding = document["findings"][0]
    assert (finding["text"], finding["remedy"], finding["signal"]) == ("two values, one is wanted", "keep one", "DANGER")
    assert (finding["file"], finding["line"], finding["column"], finding["body"]) == ("job.toml", 3, 5, "abc")
    assert finding["excerpt"].splitlines()[1].index("^") == finding["excerpt"].splitlines()[0].index("=")


@pytest.mark.parametrize("fault", [SetwrightError("the page could not be set"), ZeroDivisionError("secret detail")])
def test_a_fault_of_the_server_is_no_traceback(fault: Exception) -> None:
    app = FastAPI()
    add_handlers(app)

    @app.get("/api/fault")
    def broken() -> None:
        raise fault

    answer = TestClient(app, raise_server_exceptions=False).get("/api/fault")
    refused(answer, 500, "the server's log has the details")
    assert "secret" not in answer.text
    assert "Traceback" not in answer.text


def test_what_is_no_number_is_null() -> None:
    assert json.loads(encoded({"a": float("nan"), "b": [float("inf"), 1.5]})) == {"a": None, "b": [None, 1.5]}


def test_columns_may_be_empty() -> None:
    data = columns({"files": []}, {})
    size = int.from_bytes(data[:4], "little")
    assert json.loads(data[4:]) == {"files": [], "columns": []}
    assert len(data) == 4 + size
