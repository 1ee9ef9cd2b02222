"""The code of the console: long enough for a network, read without doubt, and slow to guess."""

from __future__ import annotations

import stat
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from flask import Flask

from app import clock
from app.access import first_start, guessing
from tests.conftest import NOW
from tests.pages import PageClient
from tests.people import PASSWORD

HERE = "address 192.168.1.66"
ENTRIES = {"shop_name": "Lowgate Valve Repairs", "name": "Tove", "password": PASSWORD}


@pytest.fixture
def data(empty_app: Flask) -> Iterator[Path]:
    with empty_app.app_context():
        yield empty_app.config["DATA"]


def test_twelve_letters_none_of_which_is_read_as_another_or_a_figure(data: Path) -> None:
    code = first_start.console_code(data)
    assert len(code.replace(" ", "")) == 12 and code.count(" ") == 2 and set(code) <= {*first_start.LETTERS, " "}
    assert not set(first_start.LETTERS) & set("ILOSU0123456789")
    assert code == first_start.console_code(data)
    assert stat.S_IMODE((data / first_start.FILE).stat().st_mode) == 0o600


@pytest.mark.parametrize("torn", ["", "12345678", "ABCD", "é" * 12])
def test_a_code_of_before_or_a_torn_one_is_made_anew(data: Path, torn: str) -> None:
    (data / first_start.FILE).write_text(torn)
    assert len(first_start.console_code(data)) == 14
    assert first_start.trouble(data, torn, HERE, NOW)


def test_it_is_typed_as_one_likes(data: Path) -> None:
    code = first_start.console_code(data)
    for typed in (code, code.lower(), code.replace(" ", "-"), f" {code.replace(' ', '')}\t"):
        assert first_start.trouble(data, typed, HERE, NOW) is None


def test_wrong_codes_wait_longer_and_longer_at_their_place_only(data: Path) -> None:
    code, at = first_start.console_code(data), NOW
    for _ in range(guessing.FREE_TRIES):
        assert "not the code" in (first_start.trouble(data, "X" * 12, HERE, at) or "")
    shortly = timedelta(milliseconds=100)
    assert "Wait 1 second," in (first_start.trouble(data, code, HERE, at + shortly) or "")
    assert "not the code" in (first_start.trouble(data, "X" * 12, HERE, at + timedelta(seconds=2)) or "")
    assert "Wait 2 seconds" in (first_start.trouble(data, code, HERE, at + timedelta(seconds=2) + shortly) or "")
    assert first_start.trouble(data, code, "address 192.168.1.7", at) is None


def test_the_page_waits_too(empty_app: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    client, at = PageClient(empty_app), clock.now()
    monkeypatch.setattr(clock, "now", lambda: at)
    for _ in range(guessing.FREE_TRIES):
        client.post("/people/first-start", {**ENTRIES, "code": "X" * 12})
    page = client.post("/people/first-start", {**ENTRIES, "code": first_start.console_code(empty_app.config["DATA"])})
    assert "Too many tries" in page.words and page.title.startswith("Error: ")
    monkeypatch.setattr(clock, "now", lambda: at + timedelta(seconds=2))
    page = client.post("/people/first-start", {**ENTRIES, "code": first_start.console_code(empty_app.config["DATA"])})
    assert "Look through its settings" in page.words
