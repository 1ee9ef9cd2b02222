"""The table of every shipped limit and rule: each has its source, how that was read, and when."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from flask import Flask

from app.bench.sources import Row, of_this_shop, rows
from app.db import transaction
from app.findings.rules.risk import Severity
from app.handover import notices
from app.incidents import duties
from app.intake import terms
from app.safety.regimes import SHIPPED
from app.shop.jurisdictions import JURISDICTIONS, PLAIN
from tests.pages import PageClient
from tests.safety import make

MARKS = {"seen", "seen in its source", "secondary", "from memory", "common practice", "not read", "not found",
         "seen in an edition that was replaced"}
EVERY = list(rows())


@pytest.mark.parametrize("row", EVERY, ids=lambda row: f"{row.group}: {row.what}")
def test_every_limit_and_rule_has_source_mark_and_date(row: Row) -> None:
    assert row.what.strip() and row.says.strip() and row.source.strip()
    assert row.mark in MARKS and isinstance(row.read_on, date)
    if row.mark in ("seen", "secondary") and row.group not in ("Visual inspection", "Cautions"):
        assert row.address.startswith("https://") or row.belongs_to == "uk-scotland"  # books: no address
    assert row.confirmed == (row.mark in ("seen", "seen in its source", "common practice"))


def test_nothing_that_ships_is_left_out() -> None:
    told = {row.belongs_to for row in EVERY}
    assert {one.key for one in SHIPPED} | set(JURISDICTIONS) | set(duties.known()) <= told
    steps = [row for row in EVERY if row.group in ("Safety limits", "Visual inspection")]
    assert len(steps) == sum(len(one.steps) for one in SHIPPED)
    assert set(terms.known()) == set(notices.known()) == set(JURISDICTIONS)


def test_what_was_not_read_is_due_at_once_and_the_rest_after_a_year() -> None:
    day = date(2026, 11, 26)
    seen = Row("", "", "", "", "", "", "seen", day, confirmed=True)
    assert not seen.is_due(day + timedelta(days=364)) and seen.is_due(day + timedelta(days=365))
    assert Row("", "", "", "", "", "", "from memory", day, confirmed=False).is_due(day)


def test_a_shop_is_told_of_its_own_law_and_limits_only(context: Flask) -> None:
    with transaction():
        found = of_this_shop(make.profile("en_50678"), "de")
    assert {row.belongs_to for row in found} == {"en_50678", "risk", "de", PLAIN}


def test_the_pages(app: Flask, owner: PageClient, technician: PageClient) -> None:
    page = owner.get("/limits/yearly")
    assert "Yearly list" in page.title and "https://legislation.nsw.gov.au" in page.words and "look it up" in page.words
    assert "Texas" not in page.words
    technician.get("/limits/yearly", status=403)
    page = technician.get("/limits/sources")
    assert "Texas" in page.words and "seen in an edition that was replaced" in page.words
    assert "2024/3173" in page.words and "was not found in a readable form" in page.words


def test_the_severities_say_what_the_regulation_says() -> None:
    """Delegated Regulation (EU) 2024/3173, Annex II, 3.3: level 4 is or could be fatal, or more than about 10 % of disability."""
    assert "about 10 %" in Severity.FATAL.word and "permanent loss" in Severity.HOSPITAL.word
