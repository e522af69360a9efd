"""The text that the editor of the shop begins with, for each kind of thing, is one that can be kept as it is."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from setwright.jobfolder.document import parse_document
from setwright.record.shop import KINDS

WORDS = Path(__file__).resolve().parents[2] / "ui" / "src" / "words" / "en" / "shop.ts"
STARTS = re.findall(r"^    (\w+): '(name = .*)',$", WORDS.read_text("utf-8"), re.MULTILINE)


def test_there_is_one_for_every_kind_that_is_made_in_the_browser() -> None:
    assert {kind for kind, _ in STARTS} == {"machines", "holding", "tools", "instruments"}


@pytest.mark.parametrize(("kind", "text"), STARTS)
def test_it_holds_together(kind: str, text: str) -> None:
    made = parse_document(text.replace("\\n", "\n"), KINDS[kind], shown=kind)
    assert made.name
