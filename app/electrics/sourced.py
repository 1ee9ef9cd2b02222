"""A number that carries its standing: where it comes from and how well that is known."""

from __future__ import annotations

from typing import Literal, Self

Status = Literal["S", "M", "C", "T"]
STATUS_WORDS: dict[Status, str] = {"S": "seen source", "M": "from memory", "C": "computed", "T": "typed here"}


class Sourced(float):
    """A float with unit, status, source and note; it calculates and compares as a plain number.

    Status S: seen in the named source. M: from memory, to be confirmed in the named document; a safety limit
    of status M must not pass an amplifier until the owner has confirmed it. C: computed from seen values. T: typed
    here by a person who named the sheet.
    """

    unit: str
    status: Status
    source: str
    note: str

    def __new__(cls, value: float, *, unit: str = "", status: Status = "M", source: str = "", note: str = "") -> Self:
        self = super().__new__(cls, value)
        self.unit, self.status, self.source, self.note = unit, status, source, note
        return self

    @property
    def unconfirmed(self) -> bool:
        """True while the value rests on memory alone."""
        return self.status == "M"

    @property
    def status_words(self) -> str:
        """The status in words."""
        return STATUS_WORDS[self.status]
