"""The types of what goes over the wire, made from the addresses' own description."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from tests.web.snapshot import contract

UI = Path(__file__).resolve().parents[2] / "ui"


@pytest.fixture(scope="module")
def wire() -> ModuleType:
    spec = importlib.util.spec_from_file_location("wire", UI / "wire.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_pages_speak_as_the_server_does(wire: ModuleType) -> None:
    assert wire.GENERATED.read_text(encoding="utf-8") == wire.wire_types(contract()), "addresses changed? python ui/wire.py"


def test_a_schema_becomes_the_type_it_means(wire: ModuleType) -> None:
    schemas = {
        "Line": {
            "type": "object",
            "description": "A line.",
            "required": ["file", "signal"],
            "properties": {
                "file": {"type": "string"},
                "signal": {"enum": ["DANGER", "NOTICE"], "type": "string"},
                "value_mm": {"anyOf": [{"type": "number"}, {"type": "null"}]},
                "at": {"type": "array", "prefixItems": [{"type": "number"}, {"type": "number"}]},
                "more": {"type": "array", "items": {"$ref": "#/components/schemas/Line"}},
                "by-name": {"type": "object", "additionalProperties": {"type": "integer"}},
            },
        }
    }
    answer = {"content": {"application/json": {"schema": {"$ref": "#/components/schemas/Line"}}}}
    paths = {
        "/api/line": {
            "get": {"responses": {"200": answer, "422": {}}},
            "post": {"responses": {"204": {}}, "requestBody": answer},
        }
    }
    text = wire.wire_types({"components": {"schemas": schemas}, "paths": paths})
    expected = """/** A line. */
export interface Line {
  file: string;
  signal: "DANGER" | "NOTICE";
  value_mm?: number | null;
  at?: [number, number];
  more?: Array<Line>;
  "by-name"?: Record<string, number>;
}
"""
    assert expected in text
    assert '  "GET /api/line": Line;\n  "POST /api/line": null;\n' in text
    assert 'export interface Bodies {\n  "POST /api/line": Line;\n}' in text
