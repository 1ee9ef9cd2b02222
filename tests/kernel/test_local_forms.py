"""Days and plurals, against Unicode CLDR's own data as Babel carries it, and what the house adds to it."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from flask import Flask
from hypothesis import given
from hypothesis import strategies as st

from app import template_globals
from app.db import session, transaction
from app.kernel.local_forms import clock, counted, day, locale_of, long_day, moment, plural
from app.kernel.unbroken import unbroken
from app.shop.models import Shop
from app.shop.place import country_of

LONG_AGO = date(2026, 3, 5)


@pytest.mark.parametrize(("country", "written", "long"), [
    ("AU", "5 Mar 2026", "5 March 2026"), ("GB", "5 Mar 2026", "5 March 2026"), ("US", "Mar 5, 2026", "March 5, 2026"),
    ("DE", "5 Mar 2026", "5 March 2026"), (None, "5 Mar 2026", "5 March 2026"), ("XX", "5 Mar 2026", "5 March 2026")])
def test_a_day_is_written_as_the_country_writes_it(country: str | None, written: str, long: str) -> None:
    """CLDR, dateFormats medium and long of en_AU, en_GB, en_US, en_DE and en_001."""
    assert day(LONG_AGO, locale_of(country)) == written and long_day(LONG_AGO, locale_of(country)) == long


@given(st.dates(date(1990, 1, 1), date(2099, 12, 31)), st.sampled_from(["AU", "GB", "US", "NZ", "IE", "CA", "DE", "FR", None]))
def test_every_day_carries_its_year_and_stays_on_one_line(value: date, country: str | None) -> None:
    written = day(value, locale_of(country))
    assert str(value.year) in written and " " not in unbroken(written)
    assert unbroken(f"from {written} on").count(" ") == 2


def test_the_clock_counts_to_24_everywhere() -> None:
    afternoon = datetime(2026, 3, 5, 14, 3, tzinfo=UTC)
    assert moment(afternoon, "en_US") == "Mar 5, 2026, 14:03" and moment(afternoon) == "5 Mar 2026, 14:03"
    assert clock(afternoon) == "14:03"


@pytest.mark.parametrize(("number", "said"), [(0, "0 parts"), (1, "1 part"), (2, "2 parts"), (21, "21 parts"), (101, "101 parts")])
def test_a_number_and_its_word(number: int, said: str) -> None:
    """CLDR, plurals of en: one where the whole number is 1 and there are no digits after the point, other elsewhere."""
    assert counted(number, "part") == said


def test_a_word_may_have_a_form_of_its_own() -> None:
    assert plural(1, "entry", "entries") == "entry" and plural(3, "entry", "entries") == "entries"
    assert counted(1, "piece is", "pieces are") == "1 piece is"


@pytest.mark.parametrize(("jurisdiction", "zone", "country"), [
    ("au-nsw", "Europe/Berlin", "AU"), ("uk-england", "UTC", "GB"), ("us-ca", "America/New_York", "US"),
    ("eu", "Europe/Berlin", "DE"),
    ("plain", "Pacific/Auckland", "NZ"), ("plain", "UTC", None), ("", "Asia/Kolkata", "IN"), ("eu", "Europe/Dublin", "IE")])
def test_where_a_shop_is(jurisdiction: str, zone: str, country: str | None) -> None:
    """Zones to countries: Unicode CLDR, as Babel carries it. Of a zone that no country has, nothing is assumed."""
    assert country_of(jurisdiction, zone) == country


def test_pages_follow_the_shop(context: Flask) -> None:
    with transaction() as current:
        current.get_one(Shop, 1).jurisdiction = "us-ca"
    session().rollback()
    assert template_globals.show_day(LONG_AGO) == "Mar\u00a05,\u00a02026"
    assert template_globals.show_moment(datetime(2026, 3, 2, 1, 5, tzinfo=UTC)) == "Mar\u00a02,\u00a02026, 12:05"
