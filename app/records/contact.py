"""Whether a phone number or an e-mail address can be one.

Numbering plans: the library phonenumbers (ITU-T E.164 and national plans).
"""

from __future__ import annotations

import re

FEWEST_DIGITS = 3
# One @ with something before it and a domain after it. RFC 5321 allows more, but nobody at a counter is told such an address.
_EMAIL = re.compile(r"[^\s@<>,;]+@[^\s@<>,;.]+(\.[^\s@<>,;.]+)+")


def why_not_a_phone(typed: str, region: str | None) -> str:
    """Why this cannot be a phone number as it is dialled in `region` (ISO 3166; None: not known); empty if it can.

    Only what no numbering plan allows is refused: letters, too few or too many digits. Whether somebody answers is not known.
    """
    text = typed.strip()
    if not text:
        return ""
    if sum(sign.isdigit() for sign in text) < FEWEST_DIGITS:
        return f"“{text}” is not a phone number. Enter its digits."
    if region is None and not text.startswith("+"):
        return ""  # nothing is known of how numbers are written here
    import phonenumbers  # not on the way to the first page

    try:
        number = phonenumbers.parse(text, region)
    except phonenumbers.NumberParseException:
        return f"“{text}” is not a phone number. Enter its digits; a number abroad begins with + and its country code."
    return _said(text, phonenumbers.is_possible_number_with_reason(number), region)


def _said(text: str, reason: int, region: str | None) -> str:
    from phonenumbers import ValidationResult

    abroad = text.startswith("+") or region is None
    where = "in that country" if abroad else "here"
    hint = "Check it." if abroad else "Check it, or begin a number abroad with + and its country code."
    if reason in (ValidationResult.TOO_SHORT, ValidationResult.INVALID_LENGTH):
        return f"“{text}” is too short for a phone number {where}. {hint}"
    if reason == ValidationResult.TOO_LONG:
        return f"“{text}” is too long for a phone number {where}. {hint}"
    return ""


def odd_number(typed: str, region: str | None) -> str:
    """Why a number that can be dialled is asked back: no plan gives it to anybody, as with a digit left out. Else empty."""
    text = typed.strip()
    if not text or why_not_a_phone(text, region) or (region is None and not text.startswith("+")):
        return ""
    import phonenumbers

    number = phonenumbers.parse(text, region)
    if phonenumbers.is_valid_number(number):
        return ""
    return f"No numbering plan has “{text}”: a digit may be missing or wrong. Check it, or tick that it is right as it stands."


def why_not_an_email(typed: str) -> str:
    """Why this cannot be an e-mail address; empty if it can. Whether it is read by somebody is not known."""
    text = typed.strip()
    if not text or _EMAIL.fullmatch(text):
        return ""
    return f"“{text}” is not an e-mail address. Enter one such as name@example.org."
