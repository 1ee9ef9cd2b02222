"""Screens on paper: something stands on the first sheet, and every sheet says which repair, when, and which page of how many.

Each page is printed by Chromium as a person would print it, and read back by poppler (pdftotext).
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest
from flask import Flask
from playwright.sync_api import Page

from app.db import session, transaction
from tests import factories
from tests.findings.make import finding, order_at
from tests.served import ready

pytestmark = pytest.mark.browser


@pytest.fixture
def engine_name() -> str:
    return "sqlite"


def sheets(page: Page, path: str, file: Path) -> list[str]:
    """The text of each sheet of paper."""
    page.goto(path)
    ready(page)
    page.pdf(path=file, format="A4", prefer_css_page_size=True)
    told = subprocess.run(["pdftotext", "-layout", str(file), "-"], capture_output=True, text=True, check=True).stdout
    return told.split("\f")[:-1]


def test_the_bench_list_begins_on_its_first_sheet(tablet: Page, app: Flask, tmp_path: Path) -> None:
    with app.app_context(), transaction():
        numbers = [str(factories.order().number) for _ in range(24)]
        session().flush()
    found = sheets(tablet, "/", tmp_path / "bench.pdf")
    assert sum(number in found[0] for number in numbers) >= 6, found[0]
    assert all(any(number in sheet for sheet in found) for number in numbers)
    marked(found, "On the bench")


def test_every_sheet_of_an_order_says_which_repair_when_and_which_page(tablet: Page, app: Flask, tmp_path: Path) -> None:
    with app.app_context(), transaction():
        order = order_at()
        for at in range(12):
            finding(order, observation=f"resin at can {at}")
        number, order_id = order.number, order.id
    for path in ("", "/findings", "/way-back", "/history"):
        marked(sheets(tablet, f"/orders/{order_id}{path}", tmp_path / "order.pdf"), f"Repair {number}")


def marked(found: list[str], words: str) -> None:
    for at, sheet in enumerate(found, start=1):
        assert words.casefold() in sheet.casefold(), f"sheet {at} of {len(found)} does not say {words}: {sheet[:300]}"
        assert re.search(r"[0-9]{1,2} [A-Z][a-z]+ [0-9]{4}, [0-9]{2}:[0-9]{2}", sheet), f"sheet {at} has no date"
        assert re.search(rf"Page {at} of {len(found)}\b", sheet), f"sheet {at} has no number"
        assert len(sheet.split()) > 30, f"sheet {at} is all but empty: {sheet}"
