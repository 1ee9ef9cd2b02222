"""The closed lists of the quote, and which of its lines must be answered in writing. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

PRESSING = frozenset("SH")  # risk letters that may not be left without a word: serious and high


class LineGroup(StrEnum):
    """Why a line stands on the quote."""

    SAFETY = "required for safety"
    COMPLAINT = "required for the complaint"
    ADVISED = "advised"
    OPTIONAL = "optional"
    NOT_RECOMMENDED = "not recommended"

    @property
    def word(self) -> str:
        return self.value.capitalize()


class WorkKind(StrEnum):
    """Whether the amp is put back to what it was, or made into something else."""

    REPAIR = "repair"
    MODIFICATION = "modification"


class PartCondition(StrEnum):
    """In what state a part comes."""

    NEW = "new"
    USED = "used"
    REFURBISHED = "refurbished"
    CUSTOMERS = "customer’s own"


class HowAcknowledged(StrEnum):
    """Where the customer's name stands under what they declined."""

    SCREEN = "signed on the screen"
    PAPER = "signed on paper"
    TYPED = "typed, in person"
    REFUSED = "refused to sign"


class OldParts(StrEnum):
    """What becomes of the parts that come out."""

    RETURNED = "given back to the customer"
    EXCHANGED = "go back to the supplier in exchange"
    DISPOSED = "disposed of by the shop"


def must_be_acknowledged(group: LineGroup, risk: str, agreed: Iterable[LineGroup] = ()) -> bool:
    """Whether a line that is declined needs the customer's name under what that means.

    `agreed` are the groups of the agreed lines about the same finding. A line that was required for safety is never spared by
    them; any other is, by one that was put as strongly: it is the way that was chosen.
    """
    if group is LineGroup.SAFETY:
        return True
    ranks = tuple(LineGroup)
    return risk in PRESSING and not any(ranks.index(one) <= ranks.index(group) for one in agreed)


def asked(group: LineGroup) -> bool:
    """Whether the customer is asked about such a line, so that it counts in the sums."""
    return group is not LineGroup.NOT_RECOMMENDED
