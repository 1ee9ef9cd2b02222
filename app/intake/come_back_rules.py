"""A come-back: why the amp is in again, and who may be asked to pay. Pure.

Common practice, no source: the first look is free, and nothing is charged before the readings as left and what was declined
were compared.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from app.errors import BadInput


class Verdict(StrEnum):
    """What the new fault has to do with the earlier repair."""

    SAME_FAULT = "same fault"
    OUR_WORK = "our work failed"
    OUR_PART = "our part failed"
    CONSEQUENTIAL = "consequential"  # it follows from the first fault or from its repair
    UNRELATED = "unrelated"
    USER_OR_SYSTEM = "user or system"  # leads, load, supply or handling
    NOT_REPRODUCED = "not reproduced"


class Payer(StrEnum):
    """Who pays for what has to be done now."""

    SHOP = "the shop"
    SUPPLIER = "the supplier of the part"
    CUSTOMER = "the customer"


WHY = "Enter what was found and compared, so that someone else can follow the verdict."
CHARGEABLE = (Verdict.UNRELATED, Verdict.USER_OR_SYSTEM)  # all others are the shop's own affair


@dataclass(frozen=True)
class Judgement:
    """A verdict with its reasoning; `compared`: with the readings as left and with what was declined."""

    verdict: Verdict
    payer: Payer
    compared: bool
    reasoning: str

    def checked(self) -> Judgement:
        """The same, tidied; BadInput beside the field that is wrong."""
        reasoning = self.reasoning.strip()
        if not reasoning:
            raise BadInput(WHY, "reasoning")
        if self.verdict in CHARGEABLE and not self.compared:
            raise BadInput("Compare with the readings as left and with what was declined then, and tick it, before this verdict.",
                           "compared")
        if self.payer is Payer.CUSTOMER and self.verdict not in CHARGEABLE:
            raise BadInput(f"With the verdict “{self.verdict.value}” the customer is not charged. Choose the shop or the supplier.",
                           "payer")
        if self.payer is Payer.SUPPLIER and self.verdict is not Verdict.OUR_PART:
            raise BadInput("A supplier pays only where a part failed: choose “our part failed”, or another payer.", "payer")
        return Judgement(self.verdict, self.payer, self.compared, reasoning)


@dataclass(frozen=True)
class Cover:
    """The warranty of one agreed line of the earlier repair: what it is on, and its first and last day."""

    what: str
    first: date
    last: date

    def holds(self, on: date) -> bool:
        """Whether it still holds on this day."""
        return self.first <= on <= self.last


def why_not_charged(come_back_of: int | None, payer: Payer | None) -> str:
    """Why nothing may be charged for the diagnosis; empty where it may be. `come_back_of`: the number of the earlier repair."""
    if come_back_of is None or payer is Payer.CUSTOMER:
        return ""
    if payer is None:
        return (f"This is a come-back after repair {come_back_of}: fee and cost limit stay at 0 until the verdict is "
                "“unrelated” or “user or system”.")
    return f"The verdict says that {payer.value} pays: fee and cost limit stay at 0."


def cover(what: str, days: int, out_on: date | None) -> Cover | None:
    """The warranty of a line of so many days on an amp that was given back on `out_on`; None where there is none."""
    return Cover(what, out_on, out_on + timedelta(days=days)) if days and out_on is not None else None
