"""Finding a person in texts. What must stay is as important: a colour, a valve, a reading."""

from __future__ import annotations

import json
from datetime import date

import phonenumbers
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.personal.rules.replacing import GONE, Replacer, Words
from app.personal.rules.retention import Period, kept_until, years_after

WORDS = Words(frozenset({"Osric Thornbury"}), frozenset({"+61 491 570 006"}), frozenset({"osric@thornbury.example"}),
              frozenset({"9 Tollgate Row\nHarrowmere"}))
ERASED = Replacer(WORDS, "Erased person 7")


@pytest.mark.parametrize(("text", "left"), [
    ("osric  THORNBURY’s amp", "Erased person 7’s amp"),
    ("call (0491) 570-006 after six", "call [erased] after six"),
    ("call +61 491 570 006.", "call [erased]."),
    ("call 0061491570006", "call [erased]"),
    ("to 9 Tollgate Row, Harrowmere", "to [erased]"),
    ("mail OSRIC@thornbury.example;", "mail [erased];"),
    ("Osric Thornburyson", "Osric Thornburyson"),
    ("part 10491570006", "part 10491570006"),
    ("R6 reads 491.5", "R6 reads 491.5"),
])
def test_what_is_theirs_goes_and_nothing_else(text: str, left: str) -> None:
    assert ERASED.text(text, own=True) == ERASED.text(text, own=False) == left


def test_every_way_to_write_a_number_is_found() -> None:
    """The forms of the reference library (phonenumbers): ITU-T E.123 international and national, E.164, RFC 3966."""
    number = phonenumbers.parse("+61491570006")
    forms = {phonenumbers.format_number(number, one) for one in range(4)}
    assert len(forms) == 4
    for form in forms:
        assert "570" not in ERASED.text(f"call {form} now", own=False), form


def test_one_word_is_replaced_only_as_a_whole() -> None:
    """The green wire is the earth in many an amp: a customer of that name must not take it out of a finding."""
    green = Replacer(Words(frozenset({"Green"})), "Erased person 3")
    assert green.text("Green wire loose", own=True) == "Green wire loose"
    assert green.text(" green ", own=True) == "Erased person 3" and green.text("Green", own=False) == "Green"


def test_what_another_shares_goes_from_their_own_records_alone() -> None:
    shared = Replacer(WORDS, "Erased person 7", Words(phones=WORDS.phones))
    assert shared.text("0491 570 006", own=False) == "0491 570 006" and shared.text("0491 570 006", own=True) == GONE


@given(st.recursive(st.none() | st.booleans() | st.integers() | st.text() | st.just("Osric Thornbury, 0491 570 006"),
                    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner)))
def test_whatever_json_holds_is_gone_through_once(value: object) -> None:
    once = ERASED.value(value, own=True)
    assert "Thornbury" not in json.dumps(once).replace("thornbury", "") or "Thornbury" not in json.dumps(list(_texts(once)))
    assert ERASED.value(once, own=True) == once


def _texts(value: object) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, list):
        return [one for part in value for one in _texts(part)]
    if isinstance(value, dict):
        return [one for part in value.values() for one in _texts(part)]
    return []


def test_periods_are_counted_as_their_law_counts() -> None:
    """Abgabenordnung § 147(4): from the end of the calendar year in which the voucher was made; as retention.toml has it."""
    german = Period("de", ("report",), 8, "the end of the calendar year", "", "", "", "secondary", date(2026, 11, 27))
    assert german.until(date(2026, 3, 2)) == date(2034, 12, 31)
    plain = Period("x", ("report",), 5, "the day of the paper", "", "", "", "seen", date(2026, 11, 27))
    assert plain.until(date(2028, 2, 29)) == date(2033, 2, 28) == years_after(date(2028, 2, 29), 5)
    assert kept_until([plain, german], "report", date(2026, 3, 2)) == (date(2034, 12, 31), german)
    assert kept_until([plain, german], "receipt", date(2026, 3, 2)) is None
