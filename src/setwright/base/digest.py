"""Content hashes: the name of exactly what was looked at."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

__all__ = ["digest_bytes", "digest_document", "digest_file"]


def digest_bytes(*parts: bytes) -> str:
    """Hex SHA-256 over the parts, each preceded by its length so that their borders count."""
    sha = hashlib.sha256()
    for part in parts:
        sha.update(len(part).to_bytes(8, "little"))
        sha.update(part)
    return sha.hexdigest()


def digest_file(path: Path) -> str:
    """Hex SHA-256 of a file's bytes (equal to what the usual command-line tools print)."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def digest_document(document: Mapping[str, Any]) -> str:
    """Hash of a plain document; independent of key order, exact in every float."""
    return digest_bytes(json.dumps(document, sort_keys=True, separators=(",", ":"), default=_plain, allow_nan=False).encode())


def _plain(value: object) -> object:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    return str(value)
