"""Bills, credit notes and payments of a period, for the income by month and kind. Three questions, however many there are."""

from __future__ import annotations

from datetime import tzinfo

import sqlalchemy as sa

from app.bench.figures.rules.income import CREDITED, Booked, IncomeRow, Paid, by_month
from app.bench.figures.rules.period import Period
from app.db import session
from app.money.models import Bill, CreditNote, MoneyEntry
from app.money.rules import BillKind, EntryKind

KINDS = (*(kind.value for kind in BillKind), EntryKind.CARRIED.value, CREDITED)  # credit notes last


def months(period: Period, zone: tzinfo) -> list[IncomeRow]:
    """A row for each month and one of all, in the kinds of KINDS; struck entries left out."""
    bills = session().execute(sa.select(Bill.billed_on, Bill.kind, Bill.total_minor, Bill.tax_minor)
                              .where(Bill.billed_on.between(period.first, period.last)))
    booked = [Booked(on, kind.value, total, tax) for on, kind, total, tax in bills]
    notes = session().execute(sa.select(CreditNote.credited_on, CreditNote.total_minor, CreditNote.tax_minor)
                              .where(CreditNote.credited_on.between(period.first, period.last)))
    booked += [Booked(on, CREDITED, -total, -tax) for on, total, tax in notes]
    entries = session().execute(
        sa.select(MoneyEntry.paid_at, MoneyEntry.kind, MoneyEntry.amount_minor - MoneyEntry.rounding_minor)
        .where(MoneyEntry.paid_at >= period.begins(zone), MoneyEntry.paid_at < period.ends(zone), MoneyEntry.struck_at.is_(None)))
    paid = []
    for at, kind, counts in entries:
        on = at.astimezone(zone).date()
        if kind is EntryKind.CARRIED:
            booked.append(Booked(on, kind.value, counts, 0))
        elif kind.moves_money:
            paid.append(Paid(on, counts if kind.comes_in else -counts))
    return by_month(KINDS, period.months, booked, paid)
