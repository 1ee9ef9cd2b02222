"""How an amp protects against shock, and which spellings name one model. Pure."""

from __future__ import annotations

import enum

LEAST_FOR_A_SLIP = 8  # letters of maker and model: fewer, and a letter apart is another name


class ProtectionClass(enum.StrEnum):
    """How the amp protects against shock (IEC 61140): class I relies on an earth, class II on double insulation."""

    I = "I"  # noqa: E741 - the standard's own name
    II = "II"
    UNKNOWN = "not known yet"


def same_model(maker: str, model: str) -> tuple[str, str]:
    """Maker and model without case, blanks, hyphens and points: 'Tarn-Holt Meridian 30' is 'TARNHOLT Meridian-30'."""
    return _folded(maker), _folded(model)


def alike(one: tuple[str, str], other: tuple[str, str]) -> bool:
    """Whether two spellings name the same model: alike folded, or a letter apart in eight or more, never in figures."""
    mine, theirs = "".join(same_model(*one)), "".join(same_model(*other))
    if not all(part for part in (*same_model(*one), *same_model(*other))):
        return False
    if mine == theirs:
        return True
    if [sign for sign in mine if sign.isdigit()] != [sign for sign in theirs if sign.isdigit()]:
        return False
    return min(len(mine), len(theirs)) >= LEAST_FOR_A_SLIP and _a_letter_apart(*sorted((mine, theirs), key=len))


def _a_letter_apart(shorter: str, longer: str) -> bool:
    """Whether one letter was changed, left out or added."""
    if len(longer) - len(shorter) > 1:
        return False
    first = next((at for at, sign in enumerate(shorter) if sign != longer[at]), len(shorter))
    return shorter[first + (len(shorter) == len(longer)):] == longer[first + 1:]


def _folded(text: str) -> str:
    return "".join(sign for sign in text.casefold() if sign.isalnum())
