"""Each figure as a table."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from app.bench.figures.queries import Waiting
from app.bench.figures.rules.come_backs import WINDOW, ComeBacks, Left
from app.bench.figures.rules.hours import HoursRow, total
from app.bench.figures.rules.income import IncomeRow
from app.bench.figures.rules.tables import TOP, Bar, Column, Row, Table, Unit, bars
from app.bench.figures.rules.times import Turnaround


def times(found: Turnaround | None) -> Table:
    """What a repair's days were spent on."""
    rows = found.causes if found else ()
    drawn = bars([[row.days] for row in rows])
    body = [Row((row.cause.value, row.days, row.share), bar) for row, bar in zip(rows, drawn, strict=True)]
    if found:
        body.append(Row(("all", found.mean_days, 1.0), is_total=True))
    return Table(
        "times", "Where the days went", (Column("Cause"), Column("Days each", Unit.DAYS), Column("Share", Unit.PERCENT)),
        tuple(body), "No repair ended in this period.", "Days each, on average", notes=(
            "From check-in to the end by the calendar, nights and closed days included. Every moment has one cause: worked on "
            "while a timer ran, else drying, curing or soaking, else what its stage waits for. Work without a timer counts as "
            "waiting.",))


def come_backs(found: ComeBacks, left: Sequence[Left]) -> Table:
    """The rate with its interval, and each that came back."""
    bar = None
    if found.interval is not None:
        bar = Bar((round((found.share or 0.0) * TOP),), reach=(round(found.interval.low * TOP), round(found.interval.high * TOP)))
    low, high = found.interval or (None, None)
    rows = [Row((f"out for {WINDOW} days or longer", found.n, found.back, found.share, low, high), bar),
            Row((f"out for less than {WINDOW} days so far", found.younger, found.younger_back, None, None, None))]
    return Table(
        "come-backs", "Come-backs", (Column("Returned repaired"), Column("Amps", Unit.COUNT), Column("Came back", Unit.COUNT),
                                     Column("Share", Unit.PERCENT), Column("From", Unit.PERCENT), Column("To", Unit.PERCENT)),
        tuple(rows) if left else (), "No amp was returned repaired in this period.", "Share, with its range", notes=(
            f"Of the amps that were returned repaired in this period, those that were checked in again as a come-back within "
            f"{WINDOW} days, whatever was found then. The true share lies between From and To (95 %, Wilson 1927). Amps that have "
            f"been out for less than {WINDOW} days are counted apart: they may still come back.",))


def came_back(left: Sequence[Left]) -> Table:
    """Each amp that came back."""
    rows = [Row((one.number, one.left_on, one.back_number, one.days, one.found or "not judged yet"),
                orders=(one.order_id, one.back_order_id or 0))
            for one in left if one.back_number is not None]
    return Table("came-back", "Which came back", (Column("Repair", Unit.ORDER), Column("Returned", Unit.DAY),
                                                  Column("Came back as", Unit.ORDER), Column("After", Unit.DAYS), Column("Found")),
                 tuple(rows), "None that was returned in this period has come back.")


def hours(rows: Sequence[HoursRow]) -> Table:
    """Quoted against spent, by kind of work."""
    every = [*rows, total(list(rows))] if rows else []
    drawn = [*bars([[row.spent, row.other] for row in rows], [row.quoted or None for row in rows]), *([None] if rows else [])]
    body = (Row((row.kind, row.quoted_n, row.quoted, row.spent, row.ratio, row.inside, row.other), bar, is_total=bar is None)
            for row, bar in zip(every, drawn, strict=True))
    return Table(
        "hours", "Hours quoted and spent", (
            Column("Kind of work"), Column("Pieces", Unit.COUNT), Column("Quoted", Unit.HOURS), Column("Spent", Unit.HOURS),
            Column("Spent of quoted", Unit.TIMES), Column("Within range", Unit.COUNT), Column("Spent, not quoted", Unit.HOURS)),
        tuple(body), "No piece of work was finished in this period.", "Hours", ("spent on what was quoted", "spent on the rest"),
        "quoted", ("Pieces of work finished in this period. Quoted is the likeliest of the three hours; within range is from the "
                   "lowest to the highest.",))


def income(kinds: Sequence[str], rows: Sequence[IncomeRow]) -> Table:
    """By month and kind; a kind of which there is nothing is left out. Credit notes are the last of the kinds, and not drawn."""
    used = [place for place in range(len(kinds)) if any(row.kinds[place] for row in rows)]
    drawn = [place for place in used if place < len(kinds) - 1]
    every = [*bars([[row.kinds[place] for place in drawn] for row in rows[:-1]]), None]
    body = (Row((row.month or "all", *(row.kinds[place] for place in used), row.billed, row.tax, row.received), bar,
                is_total=row.month is None) for row, bar in zip(rows, every, strict=True))
    return Table(
        "income", "Income by month", (
            Column("Month", Unit.MONTH), *(Column(kinds[place].capitalize(), Unit.MONEY) for place in used),
            Column("Billed", Unit.MONEY), Column("Tax in it", Unit.MONEY), Column("Received", Unit.MONEY)),
        tuple(body) if used or any(row.received for row in rows) else (), "Nothing was billed or received in this period.",
        "Billed before credit notes" if drawn else "", tuple(kinds[place] for place in drawn), notes=(
            "By the day of the bill, the credit note or the payment; tax included. Billed is the kinds less credit notes. Received "
            "is deposits and payments less refunds, cash rounding left out, as in the accountant’s file.",))


def waiting(found: Sequence[Waiting], today: date) -> Table:
    """What waits longest."""
    drawn = bars([[one.days] for one in found])
    rows = (Row((one.number, one.title, one.stage, one.days, one.says, one.promised_on, "overdue" if one.overdue(today) else ""),
                bar, (one.order_id,), warns=one.do_not_energise) for one, bar in zip(found, drawn, strict=True))
    return Table(
        "waiting", "What waits longest", (
            Column("Repair", Unit.ORDER), Column("Amp"), Column("Stage"), Column("There for", Unit.DAYS), Column("Waits for"),
            Column("Promised", Unit.DAY), Column("Promise")),
        tuple(rows), "No amp is checked in.", "Days in its stage")
