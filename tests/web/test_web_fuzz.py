"""A small part of the fuzz over all addresses, the same every time: nothing that is asked is a fault of the server."""

from __future__ import annotations

import random
from collections import Counter

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from tests.web.fuzz import ROLES, asked_of
from tests.web.workbench import Person, refused


@pytest.mark.parametrize("seed", [1, 2])
def test_nothing_that_is_asked_is_a_fault(shop: FastAPI, seed: int) -> None:
    draw = random.Random(seed)
    people = {name: Person(shop, name) for name in ROLES if name}
    nobody = TestClient(shop, base_url="http://127.0.0.1", raise_server_exceptions=False)
    statuses: Counter[int] = Counter()
    for asked in asked_of(draw, 1):
        name = draw.choice(list(ROLES))
        if asked.what.endswith("/events") or asked.what.endswith("/api/session"):
            continue  # the one goes on for ever, the other signs people out
        head = {"if-match": '"1"'} if asked.headers.get("if-match") == "HEAD" else {}
        headers = {key: value.encode("latin-1", "replace") for key, value in {**asked.headers, **head}.items()}
        if name:
            headers = {"x-setwright-token": people[name].token.encode()} | headers
        client = people[name].client if name else nobody
        answer = client.request(asked.method, asked.path, headers=headers, content=asked.body)
        assert answer.status_code < 500, (asked, answer.text)
        statuses[answer.status_code] += 1
    assert statuses.total() > 50
    assert len(statuses) >= 4, "many kinds of answers were met"


@pytest.mark.parametrize("text", ["a = " + "[" * 5000, "a = " + "{a=" * 3000, "a." * 20_000 + "a = 1"])
def test_a_text_nested_too_deep_is_refused(shop: FastAPI, text: str) -> None:
    lea = Person(shop, "Lea")
    refused(lea.ask("PUT", "/api/shop/tools/drill", based_on=0, content=text, headers={"content-type": "text/plain"}), 422)
    refused(lea.ask("POST", "/api/shop/tools/drawing", json={"text": text}), 422)
    refused(lea.ask("PATCH", "/api/jobs/cap", based_on=1, json={"files": {"job.toml": text}}), 422)
