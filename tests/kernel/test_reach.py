"""Links that dial and write: RFC 3966 (examples of its section 3 and 6), RFC 5724, RFC 6068."""

from __future__ import annotations

import pytest

from app.kernel.reach import mailto, sms, tel


@pytest.mark.parametrize(("typed", "dialled"), [
    ("+1-201-555-0123", "tel:+12015550123"),  # RFC 3966, 6, without its visual separators (3)
    ("555 0199", "tel:5550199"), ("(02) 5550 0199", "tel:0255500199"), ("+61 (0)2 5550 0199", "tel:+61255500199"),
    ("+44 20 7946 0958 ext 12", "tel:+442079460958;ext=12"), ("0161 496 0000 x7", "tel:01614960000;ext=7"),
    ("02/555.01.99", "tel:025550199"), ("", ""), ("ask at the bar", ""), ("12", ""), ("555 0199 or 555 0198", ""),
    ("+1234567890123456", ""), ("javascript:alert(1)", ""), ("٣٤٥٦٧٨", "")])
def test_a_number_is_dialled_as_it_is_meant(typed: str, dialled: str) -> None:
    assert tel(typed) == dialled


def test_a_text_goes_to_no_extension() -> None:
    assert sms("555 0199") == "sms:5550199" and sms("555 0199 x2") == "" and sms("the bar") == ""


@pytest.mark.parametrize(("typed", "written"), [
    ("wren@adler.example", "mailto:wren@adler.example"), ("a+b@c.example", "mailto:a+b@c.example"),
    ("gorby%kremvax@example.com", "mailto:gorby%25kremvax@example.com"),  # RFC 6068, 6.1
    ("unlikely?address@example.com", "mailto:unlikely%3Faddress@example.com"),  # the same
    ("no sign", ""), ("a@b\r\nBcc: c@d", ""), ("a@b@c", ""), ("", "")])
def test_an_address_brings_no_header_of_its_own(typed: str, written: str) -> None:
    assert mailto(typed) == written
