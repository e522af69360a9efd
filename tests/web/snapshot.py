"""The contract of the addresses: python -m tests.web.snapshot writes it anew after a wanted change."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from setwright.web.app import create_app
from setwright.web.settings import Settings

SNAPSHOT = Path(__file__).with_name("openapi.json")


def contract() -> dict[str, Any]:
    """What other programs may rely on, without the release's number."""
    app = create_app(Settings(place=Path("nowhere"), local_name="Ada"))
    document = app.openapi()
    document["info"].pop("version")
    return document


if __name__ == "__main__":
    SNAPSHOT.write_text(json.dumps(contract(), indent=1, sort_keys=True, ensure_ascii=False) + "\n", encoding="utf-8")
