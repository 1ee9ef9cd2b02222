"""Taking a file in: every row or none, and what is there already is not taken twice."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Hashable
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any, cast

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput
from app.exchange import csv_rows as entries
from app.exchange.csv_file import Sheet, read
from app.exchange.csv_rows import Job, Part, Wrong
from app.exchange.models import BroughtIn, ListedPart, PastJob
from app.intake.service.records import add_customer
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel import money
from app.kernel.local_forms import counted
from app.records.models import Customer
from app.records.spec import CustomerFacts
from app.shop.queries import the_shop

NUMBERS = {"customers": (), "parts": ("price",), "past-jobs": ("estimated hours", "actual hours")}


@dataclass(frozen=True)
class Plan:
    """What a file would bring: the sheet as it was read, what is new, how many rows are known, and every mistake."""

    name: str
    sha256: str
    what: str
    sheet: Sheet
    new: list[Any] = field(repr=False)
    known: int
    wrong: list[Wrong]

    @property
    def unused(self) -> list[str]:
        """Columns that are not taken in."""
        places = set(entries.used(self.sheet, self.what).values())
        return [name for place, name in enumerate(self.sheet.columns) if place not in places]

    def must_be_right(self) -> None:
        """BadInput if any row is wrong."""
        if self.wrong:
            raise BadInput(f"{counted(len(self.wrong), 'row')} of {self.name} cannot be used; "
                           "nothing was imported.")


def plan(name: str, data: bytes, what: str | None = None) -> Plan:
    """Read the file against what the shop has. Nothing is changed. BadInput if the file as a whole cannot be read."""
    sheet = read(data)
    what = entries.told(sheet, what)
    found, bad = entries.rows(sheet, what)
    comma = entries.decimal_comma(found, NUMBERS[what])
    make: dict[str, Callable[[entries.Row], object]] = {
        "customers": lambda row: CustomerFacts(**row).checked(),
        "parts": lambda row: entries.part(row, money.digits(the_shop().currency), comma),
        "past-jobs": lambda row: entries.job(row, comma),
    }
    made, more = entries.each(found, make[what])
    new, known = _NEW[what](made)
    return Plan(name, hashlib.sha256(data).hexdigest(), what, sheet, new, known, sorted([*bad, *more], key=lambda one: one.row))


def take_in(planned: Plan, *, by: Actor, now: datetime) -> int:
    """Add what is new; how many that were. BadInput if any row is wrong: then nothing is added."""
    planned.must_be_right()
    if not planned.new:
        return 0
    brought = BroughtIn(name=planned.name, sha256=planned.sha256, what=planned.what, added=len(planned.new), at=now,
                        by_name=by.name)
    session().add(brought)
    session().flush()
    record(Event.FILE_BROUGHT_IN, brought, by=by, now=now, after={
        "file": planned.name, "SHA-256": planned.sha256, "what": planned.what, "rows added": len(planned.new)})
    if planned.what == "customers":
        for facts in planned.new:
            add_customer(facts, by=by, now=now)
    else:
        kind = PastJob if planned.what == "past-jobs" else ListedPart
        session().add_all(kind(**asdict(one), brought_in_id=brought.id) for one in planned.new)
    return len(planned.new)


def _new_customers(made: list[object]) -> tuple[list[Any], int]:
    """One who is there with the same name and the same ways to reach them is known, and so is a second row."""
    there = {_who(one) for one in session().scalars(sa.select(Customer))}
    new = []
    for one in cast("list[CustomerFacts]", made):
        if _who(one) not in there:
            there.add(_who(one))
            new.append(one)
    return new, len(made) - len(new)


def _who(one: CustomerFacts | Customer) -> Hashable:
    return tuple(" ".join(text.casefold().split()) for text in (one.name, one.phone, one.email, one.address))


def _new_parts(made: list[object]) -> tuple[list[Any], int]:
    """A part with the price that its newest row has is known; of several prices in the file the last counts."""
    there = {(row.number, row.supplier): (row.what, row.price_minor)
             for row in session().scalars(sa.select(ListedPart).order_by(ListedPart.id))}
    last = {(one.number, one.supplier): one for one in cast("list[Part]", made)}
    new = [one for key, one in last.items() if there.get(key) != (one.what, one.price_minor)]
    return new, len(made) - len(new)


def _new_jobs(made: list[object]) -> tuple[list[Any], int]:
    """Two jobs may be alike: only as many as the shop does not have yet are new."""
    columns = (PastJob.kind, PastJob.estimated_hours, PastJob.actual_hours, PastJob.model, PastJob.finished_on)
    there = Counter(tuple(row) for row in session().execute(sa.select(*columns)))
    new = []
    for one in cast("list[Job]", made):
        key = (one.kind, one.estimated_hours, one.actual_hours, one.model, one.finished_on)
        if there[key] > 0:
            there[key] -= 1
        else:
            new.append(one)
    return new, len(made) - len(new)


_NEW: dict[str, Callable[[list[object]], tuple[list[Any], int]]] = {
    "customers": _new_customers, "parts": _new_parts, "past-jobs": _new_jobs}
