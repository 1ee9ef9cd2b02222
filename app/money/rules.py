"""What may be billed, credited, taken and given back, and what is owed after it. Pure; sums in smallest coins, tax included."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from app.errors import BadInput
from app.kernel.taxes import Taxed, TaxRule, rounded_for_cash


class Method(StrEnum):
    """How it was paid."""

    CASH = "cash"
    CARD = "card"
    TRANSFER = "bank transfer"
    NOTHING = "nothing was paid"


class BillKind(StrEnum):
    """What a bill is for."""

    REPAIR = "repair"
    UNREPAIRED = "returned unrepaired"
    STORAGE = "storage"


class EntryKind(StrEnum):
    """What was paid, given back or given up."""

    DEPOSIT = "deposit"
    PAYMENT = "payment"
    REFUND = "refund"
    WRITE_OFF = "write-off"
    CARRIED = "due before bills had numbers"  # of repairs that ended before: nobody enters one any more

    @property
    def comes_in(self) -> bool:
        return self in (EntryKind.DEPOSIT, EntryKind.PAYMENT)

    @property
    def moves_money(self) -> bool:
        """Whether coins change hands, so that it was paid in some way."""
        return self.comes_in or self is EntryKind.REFUND


@dataclass(frozen=True)
class Row:
    """One row of a bill: what for, its price as the price list means it, and days of warranty."""

    what: str
    minor: int
    warranty_days: int = 0


@dataclass(frozen=True)
class Billed:
    """The rows of a bill and what they come to."""

    rows: tuple[Row, ...]
    sums: Taxed


@dataclass(frozen=True)
class Entered:
    """One entry that stands: its kind, the sum, and what of it only rounds cash to coins (so much more was paid than counts)."""

    kind: EntryKind
    minor: int
    rounding_minor: int = 0

    @property
    def counts_minor(self) -> int:
        return self.minor - self.rounding_minor


@dataclass(frozen=True)
class Balance:
    """Of one order: billed less credited, received less refunded, and written off."""

    charged_minor: int
    received_minor: int
    written_off_minor: int = 0

    @property
    def owed_minor(self) -> int:
        """What is still to be paid; below 0 where the shop owes the customer."""
        return self.charged_minor - self.received_minor - self.written_off_minor

    @property
    def held_minor(self) -> int:
        """What the customer is owed: a deposit before the bill, or what a credit note set free."""
        return max(0, -self.owed_minor)


def balance(billed: Iterable[int], credited: Iterable[int], entries: Iterable[Entered]) -> Balance:
    """What stands after these bills, credit notes and entries."""
    every = list(entries)

    def total(*kinds: EntryKind) -> int:
        return sum(one.counts_minor for one in every if one.kind in kinds)

    return Balance(sum(billed) - sum(credited) + total(EntryKind.CARRIED),
                   total(EntryKind.DEPOSIT, EntryKind.PAYMENT) - total(EntryKind.REFUND), total(EntryKind.WRITE_OFF))


NO_REASON = "This is another sum than what is due as agreed. Enter what makes the difference."


def make_out(rule: TaxRule, agreed: Sequence[Row], fees: Sequence[Row], due_minor: int, because: str) -> Billed:
    """A bill of just `due_minor`: agreed items at their prices, fees (whose sums hold their tax), and what makes the difference.

    BadInput where there is a difference and nobody says why.
    """
    sums = [rule.on([row.minor for row in agreed])]
    known = sums[0].total_minor + sum(row.minor for row in fees)
    inside = list(fees)
    if due_minor != known:
        if not because.strip():
            raise BadInput(NO_REASON, "because")
        inside.append(Row(because.strip(), due_minor - known))
    rows = list(agreed)
    for row in inside:
        taxed = rule.inside(row.minor)
        sums.append(taxed)
        rows.append(Row(row.what, taxed.total_minor if rule.included else taxed.net_minor, row.warranty_days))
    each = tuple(sum(one.taxes_minor[place] for one in sums) for place in range(len(rule.taxes)))
    return Billed(tuple(rows), Taxed(sum(one.net_minor for one in sums), each))


def check_bill(total_minor: int, billed_minor: int, agreed_minor: int | None) -> None:
    """Refuse a bill that is nothing, or that takes all bills of the order (less credit notes) above what was agreed."""
    if total_minor <= 0:
        raise BadInput("A bill needs a sum above 0.", "due_minor")
    if billed_minor + total_minor > (agreed_minor or 0):
        raise BadInput("That is more than was agreed. Get consent first, then enter it; or enter what was agreed.", "due_minor")


def check_credit(credit_minor: int, left_minor: int, reason: str) -> None:
    """Refuse to credit nothing, more than is left of the bill, or without a reason."""
    if not 0 < credit_minor <= left_minor:
        raise BadInput("Enter a sum above 0, up to what is left of the bill.", "credit_minor")
    if not reason.strip():
        raise BadInput("Enter why the bill is corrected.", "reason")


def check_entry(kind: EntryKind, minor: int, method: Method, note: str, stands: Balance, *, agreed_minor: int | None,
                cash_step: int) -> int:
    """Refuse what cannot be; the answer is what of the sum only rounds cash to coins (see `Entered`)."""
    if minor <= 0:
        raise BadInput("Enter a sum above 0.", "amount_minor")
    if kind.moves_money and method is Method.NOTHING:
        raise BadInput("Choose how it was paid.", "method")
    if not kind.comes_in and not note.strip():
        raise BadInput("Enter why.", "note")
    most, wrong = _most(kind, stands, agreed_minor)
    if method is Method.CASH and kind.moves_money and minor == rounded_for_cash(most, cash_step) != most:
        return minor - most
    if method is Method.CASH and kind.moves_money and minor % cash_step:
        raise BadInput("That sum cannot be paid in coins. Enter what was put on the counter.", "amount_minor")
    if minor > most:
        raise BadInput(wrong, "amount_minor")
    return 0


def _most(kind: EntryKind, stands: Balance, agreed_minor: int | None) -> tuple[int, str]:
    if kind is EntryKind.DEPOSIT:
        return max(0, (agreed_minor or 0) - stands.received_minor), (
            "That is more than was agreed in all. Enter a deposit up to what was agreed, or get consent first.")
    if kind is EntryKind.REFUND:
        return stands.held_minor, "That is more than the customer is owed. Issue a credit note first, then record the refund."
    return max(0, stands.owed_minor), "That is more than is owed. Enter up to what is owed."


WHY_OPEN = "Enter why the rest stays open, and until when."


def check_sums(due_minor: int, paid_minor: int, method: Method, on_account: str, *, ceiling_minor: int | None,
               owed_minor: int) -> None:
    """Refuse sums that do not hold together, or that are more than was agreed.

    `paid_minor`: what is paid now; `owed_minor`: what is open before it, which a deposit makes less than what is due.
    """
    if due_minor < 0:
        raise BadInput("Enter what is due, 0 or more.", "due_minor")
    if due_minor > (ceiling_minor or 0):
        raise BadInput("That is more than was agreed. Get consent first, then enter it; or enter what was agreed.", "due_minor")
    if owed_minor < 0:
        raise BadInput("More was paid than is due: record the refund first.", "due_minor")
    if paid_minor < 0:
        raise BadInput("Enter what was paid, from 0 to what is owed.", "paid_minor")
    if paid_minor and method is Method.NOTHING:
        raise BadInput("Choose how it was paid.", "method")
    if not paid_minor and method is not Method.NOTHING:
        raise BadInput("Enter what was paid, or choose that nothing was paid.", "paid_minor")
    if paid_minor < owed_minor and not on_account.strip() and method is not Method.CASH:
        raise BadInput(WHY_OPEN, "on_account")


def check_moment(at: datetime, now: datetime) -> None:
    """Refuse a moment that has not come."""
    if at > now + timedelta(minutes=5):
        raise BadInput("That time is in the future. Enter when it was paid.", "paid_at")


def owed_since(charged: Iterable[tuple[date, int]], covered_minor: int) -> date:
    """The day on which the first sum was due that is not covered, `charged` being days with sums; ValueError if all is."""
    for day, minor in sorted(charged):
        covered_minor -= minor
        if covered_minor < 0:
            return day
    raise ValueError("nothing is owed")


# Days after the due day up to which a sum counts as overdue by so much; the last takes the rest. (Common practice, no source.)
AGES = (0, 30, 60, 90)
AGE_WORDS = ("not overdue", "1 to 30 days overdue", "31 to 60 days overdue", "61 to 90 days overdue", "over 90 days overdue")


def age_of(due_on: date, today: date) -> int:
    """Which of AGE_WORDS a sum that was due on this day has."""
    late = (today - due_on).days
    return next((place for place, days in enumerate(AGES) if late <= days), len(AGES))
