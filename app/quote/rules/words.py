"""The closed lists of the quote, and which of its lines must be answered in writing. Pure."""

from __future__ import annotations

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
    REFUSED = "refused to sign"


class OldParts(StrEnum):
    """What becomes of the parts that come out."""

    RETURNED = "given back to the customer"
    EXCHANGED = "go back to the supplier in exchange"
    DISPOSED = "disposed of by the shop"


def must_be_acknowledged(group: LineGroup, risk: str) -> bool:
    """Whether a line that is declined needs the customer's name under what that means."""
    return group is LineGroup.SAFETY or risk in PRESSING


def asked(group: LineGroup) -> bool:
    """Whether the customer is asked about such a line, so that it counts in the sums."""
    return group is not LineGroup.NOT_RECOMMENDED
