"""Makes src/wire/api.gen.ts, the types of everything that goes over the wire, from the server's own description of its addresses.

Run it after a change of the addresses: python ui/wire.py
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from setwright.web.app import create_app
from setwright.web.settings import Settings

__all__ = ["GENERATED", "main", "wire_types"]

GENERATED: Final = Path(__file__).resolve().parent / "src" / "wire" / "api.gen.ts"
_HEAD: Final = "// Made by ui/wire.py from the server's description of its addresses; change the models there instead.\n"
_PLAIN: Final = {"string": "string", "integer": "number", "number": "number", "boolean": "boolean", "null": "null"}
_MOST: Final = 100
_METHODS: Final = ("get", "post", "put", "patch", "delete")


def wire_types(document: Mapping[str, Any]) -> str:
    """The text of the generated file for an OpenAPI document."""
    schemas: dict[str, Any] = document.get("components", {}).get("schemas", {})
    parts = [_HEAD]
    parts += [_declared(name, schema) for name, schema in sorted(schemas.items())]
    answers, bodies = [], []
    for path, methods in sorted(document["paths"].items()):
        for method in _METHODS:
            if method in methods:
                address = json.dumps(f"{method.upper()} {path}")
                answers.append(f"  {address}: {_answer(methods[method])};")
                bodies += [f"  {address}: {body};" for body in _bodies(methods[method])]
    parts.append("\n".join(["/** What each address answers. */", "export interface Answers {", *answers, "}\n"]))
    said = "/** What is sent to each address that takes a document. */"
    parts.append("\n".join([said, "export interface Bodies {", *bodies, "}\n"]))
    return "\n".join(parts)


def _declared(name: str, schema: Mapping[str, Any]) -> str:
    said = f"/** {_one_line(schema['description'])} */\n" if schema.get("description") else ""
    if schema.get("type") == "object" and "properties" in schema:
        return f"{said}export interface {_name(name)} {_object(schema)}\n"
    return f"{said}export type {_name(name)} = {_type(schema)};\n"


def _object(schema: Mapping[str, Any], indent: str = "") -> str:
    """Keys that are always sent are not optional, whoever makes the document."""
    needed = set(schema.get("required", ()))
    lines = []
    for key, field in schema.get("properties", {}).items():
        if field.get("description"):
            lines.append(f"{indent}  /** {_one_line(field['description'])} */")
        lines.append(f"{indent}  {_key(key)}{'' if key in needed else '?'}: {_type(field, indent + '  ')};")
    more = schema.get("additionalProperties")
    if more not in (None, False):
        lines.append(f"{indent}  [key: string]: unknown;")
    return "{\n" + "\n".join(lines) + f"\n{indent}}}"


def _type(schema: Mapping[str, Any], indent: str = "") -> str:
    if "$ref" in schema:
        return _name(schema["$ref"].rpartition("/")[2])
    if "const" in schema:
        return json.dumps(schema["const"], ensure_ascii=False)
    if "enum" in schema:
        return " | ".join(json.dumps(one, ensure_ascii=False) for one in schema["enum"])
    for several in ("anyOf", "oneOf"):
        if several in schema:
            return " | ".join(dict.fromkeys(_type(one, indent) for one in schema[several]))
    if "allOf" in schema:
        return " & ".join(_type(one, indent) for one in schema["allOf"])
    kind = schema.get("type")
    if kind == "array":
        return _array(schema, indent)
    if kind == "object":
        if "properties" in schema:
            return _object(schema, indent)
        inner = schema.get("additionalProperties")
        return f"Record<string, {_type(inner, indent)}>" if isinstance(inner, Mapping) else "Record<string, unknown>"
    return _PLAIN.get(str(kind), "unknown")


def _array(schema: Mapping[str, Any], indent: str) -> str:
    if "prefixItems" in schema:
        return "[" + ", ".join(_type(one, indent) for one in schema["prefixItems"]) + "]"
    return f"Array<{_type(schema.get('items', {}), indent)}>"


def _answer(method: Mapping[str, Any]) -> str:
    """The type of the answer when all goes well."""
    for status, answer in sorted(method.get("responses", {}).items()):
        if status.startswith("2"):
            content = answer.get("content", {})
            if "application/json" in content:
                return _type(content["application/json"].get("schema", {}), "  ")
            return "unknown" if content else "null"
    return "unknown"


def _bodies(method: Mapping[str, Any]) -> list[str]:
    content = method.get("requestBody", {}).get("content", {})
    return [_type(content["application/json"]["schema"], "  ")] if "application/json" in content else []


def _name(name: str) -> str:
    return "".join(letter if letter.isalnum() else "_" for letter in name)


def _key(key: str) -> str:
    return key if key.isidentifier() else json.dumps(key, ensure_ascii=False)


def _one_line(text: str) -> str:
    words = " ".join(text.split()).replace("*/", "* /")
    return words if len(words) <= _MOST else words[: words.rfind(" ", 0, _MOST)] + " …"


def main() -> None:
    """Write the file anew."""
    app = create_app(Settings(place=Path("nowhere"), local_name="Ada"))
    GENERATED.write_text(wire_types(app.openapi()), encoding="utf-8")


if __name__ == "__main__":
    main()
