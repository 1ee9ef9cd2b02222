"""Phone numbers and e-mail addresses against what their authorities publish."""

from __future__ import annotations

import pytest
from flask import Flask
from wtforms import StringField
from wtforms.validators import Length

from app.kernel.form_fields import House
from app.records.contact import odd_number, why_not_a_phone, why_not_an_email

# Numbers set aside for fiction, which every plan has all the same: ACMA, "Phone numbers for use in TV shows, films and creative
# works" (Australia); Ofcom, "Telephone numbers for use in TV and radio drama programmes" (United Kingdom); NANPA 555-0100 to
# 555-0199 with an area code (North America). All three from memory.
FICTION = (("AU", "0491 570 156"), ("AU", "(02) 5550 1234"), ("AU", "+61 491 570 156"), ("GB", "020 7946 0123"),
           ("US", "(212) 555-0123"), ("AU", "+44 20 7946 0123"))


@pytest.mark.parametrize(("region", "number"), FICTION)
def test_numbers_that_plans_have_are_taken(region: str, number: str) -> None:
    assert why_not_a_phone(number, region) == "" and odd_number(number, region) == ""


@pytest.mark.parametrize(("number", "words"), [
    ("call Bob", "is not a phone number"), ("12", "is not a phone number"), ("555", "too short"),
    ("0491 570 156 789 01", "too long for a phone number here"),
    ("+44 20 7946 0123 456 7", "too long for a phone number in that country"),
    ("+999 1234567", "is not a phone number")])
def test_what_no_plan_allows_is_refused_in_words(number: str, words: str) -> None:
    assert words in why_not_a_phone(number, "AU")


def test_a_digit_left_out_is_asked_back_and_not_refused() -> None:
    """ITU-T E.164 leaves the lengths of numbers to each country, and tables age: what is odd may still be right."""
    assert why_not_a_phone("0491 570 15", "AU") == "" and "a digit may be missing" in odd_number("0491 570 15", "AU")


def test_where_the_country_is_not_known_only_international_numbers_are_judged() -> None:
    assert why_not_a_phone("0491 570 156 789 01", None) == "" and odd_number("0491", None) == ""
    assert "too long" in why_not_a_phone("+61 491 570 156 789 01", None)


# Forms of an address: RFC 5321 section 4.1.2, the plain ones of it.
@pytest.mark.parametrize(("typed", "good"), [
    ("noor@band.example", True), ("noor.h+amp@mail.band.example", True), ("", True), ("noor", False), ("noor@band", False),
    ("noor@@band.example", False), ("noor h@band.example", False), ("noor@band..example", False),
    ("a@b.example, c@d.example", False)])
def test_an_address_has_the_form_of_one(typed: str, good: bool) -> None:
    assert (why_not_an_email(typed) == "") is good


def test_nothing_is_cut_by_the_browser_but_refused_with_its_length(app: Flask) -> None:
    """A browser with `maxlength` drops the end of what is pasted without a word."""
    class Words(House):
        text = StringField("Text", [Length(max=5)])

    with app.test_request_context("/"):
        form = Words(data={"text": "seven.."})
        assert "maxlength" not in str(form.text())
        assert not form.validate() and form.text.errors == ["That is too long. Use 5 characters or fewer."]
