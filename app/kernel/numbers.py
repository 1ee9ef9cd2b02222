"""The number fields of every form. They read what people write and nothing that only a programming language calls a number.

WTForms' own hand the text to int, float and Decimal, which take NaN, Infinity, 1_000, 1e400 and the digits of every script.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import wtforms
from wtforms.validators import StopValidation

from app.kernel.form_messages import NUMBER, WHOLE

MOST_DIGITS = 9  # a billion is more than anything counted here, and fits the smallest integer column
_WHOLE = re.compile(rf"[+-]?[0-9]{{1,{MOST_DIGITS}}}")
_NUMBER = re.compile(rf"[+-]?([0-9]{{1,{MOST_DIGITS}}}([.,][0-9]{{0,20}})?|[.,][0-9]{{1,20}})([eE]-[0-9]{{1,2}})?")


def whole(text: str) -> int:
    """A whole number as people write it; ValueError in words."""
    if not _WHOLE.fullmatch(text):
        raise ValueError(WHOLE)
    return int(text)


def number(text: str) -> Decimal:
    """A number with point or comma; ValueError in words. Always finite, below 10^9."""
    if not _NUMBER.fullmatch(text):
        raise ValueError(NUMBER)
    return Decimal(text.replace(",", "."))


class _Read:
    """Reads the text of a field; None if it is empty, an error beside the field if it cannot be read."""

    data: Any
    read: Callable[[str], Any]

    def process_formdata(self, valuelist: list[str]) -> None:
        self.data = None
        if valuelist and (typed := valuelist[0].strip()):
            self.data = self.read(typed)

    def pre_validate(self, _form: object) -> None:
        if getattr(self, "process_errors", ()):
            raise StopValidation()  # what was typed could not be read: that message stands alone


class IntegerField(_Read, wtforms.IntegerField):  # type: ignore[misc]
    """A whole number of at most nine digits."""

    keys = "numeric"
    read = staticmethod(whole)


class FloatField(_Read, wtforms.FloatField):  # type: ignore[misc]
    """A finite number, decimal point or comma."""

    keys = "decimal"
    read = staticmethod(lambda typed: float(number(typed)))


class DecimalField(_Read, wtforms.DecimalField):  # type: ignore[misc]
    """A finite decimal number, decimal point or comma."""

    keys = "decimal"
    read = staticmethod(number)
