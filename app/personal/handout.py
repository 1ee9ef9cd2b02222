"""A customer's whole record for them, as one ZIP: JSON, CSV, photos, papers, and an index that a person can read.

Written while it is sent, one file after another: nothing but the file that is on its way lies in memory. What is another
customer's in the same repairs is left out: their name is replaced, and so is a paper that names them.
"""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from flask import current_app

from app.db import Base, end_reading, session
from app.documents.rules import file_name
from app.errors import RuleBroken
from app.exchange import cells
from app.exchange.export import shown
from app.journal.models import JournalEntry
from app.kernel.local_forms import moment
from app.orders.models import RepairOrder
from app.personal import papers, scope
from app.personal.rules.replacing import Replacer, Words, words_of
from app.personal.rules.sources import Source, called, source_of
from app.photos.models import Photo
from app.photos.store import the_store
from app.records.models import Customer
from app.shop.queries import locale, the_shop

ANOTHER = "another person"
_HISTORY = ("seq", "at", "person_name", "event", "subject_type", "subject_id", "order_id", "before", "after", "reason")
Row = dict[str, Any]


@dataclass(frozen=True)
class Line:
    """One line of the index: what, how many, in which file; where it is from and why it is kept."""

    what: str
    number: int
    file: str
    source: Source


@dataclass
class Whole:
    """All that is sent: rows by table, files by the name that they get, and what is not in it, with why."""

    shop: str
    at: datetime  # in the shop's zone
    when: str  # the same in words
    tables: dict[str, list[Row]]
    files: dict[str, str]  # name in the ZIP → SHA-256
    left_out: list[str] = field(default_factory=list)


def gather(customer: Customer, now: datetime) -> Whole:
    """Read it all as of one moment, but for the bytes of files."""
    orders = scope.orders_of(customer)
    others = _others(customer, orders)
    own = {"customer": set(scope.ids_of(customer)), "amp": {order.amp_id for order in orders}, **scope.rows_of(customer, orders)}
    tables = {name: [_told(row, others) for row in _rows(name, own[name])] for name in own}
    tables["history"] = list(_history(customer, own, others))
    at = now.astimezone(the_shop().zone)
    whole = Whole(the_shop().name, at, moment(at, locale()), tables, {})
    numbers = {order.id: order.number for order in orders}
    for photo in session().scalars(sa.select(Photo).where(Photo.order_id.in_(numbers)).order_by(Photo.id)):
        ending = photo.media_type.split("/")[1].replace("jpeg", "jpg")
        whole.files[f"photos/repair-{numbers[photo.order_id]}-photo-{photo.id}.{ending}"] = photo.sha256
    for document in papers.of_orders(orders):
        name = file_name(numbers[document.order_id], document.kind, document.revision, document.media_type)
        name = name.replace("-r", f"-{document.about_id}-r") if document.about_id else name
        if any(papers.names_anyone(document, one) for one in others):
            whole.left_out.append(f"{name}: it names another person too. Ask the shop for it.")
        else:
            whole.files[f"papers/{name}"] = document.sha256
    end_reading()
    return whole


def sent(whole: Whole) -> Iterator[bytes]:
    """The ZIP, part by part. A file that is gone or damaged is named in the index, which comes last."""
    out = _Out()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:  # type: ignore[call-overload]  # it is only written to
        made.writestr("record.json", json.dumps(whole.tables, ensure_ascii=False, indent=1))
        yield out.taken()
        for name, rows in whole.tables.items():
            made.writestr(f"tables/{name}.csv", "".join(_lines(rows)))
            yield out.taken()
        left_out = list(whole.left_out)
        for name, sha256 in whole.files.items():
            try:
                made.writestr(zipfile.ZipInfo(name, whole.at.timetuple()[:6]), the_store().get(sha256))
            except RuleBroken as wrong:
                left_out.append(f"{name}: {wrong.words}")
            yield out.taken()
        page = current_app.jinja_env.get_template("personal/index_of_record.html")  # nobody is signed in any more
        made.writestr("index.html", page.render(shop_name=whole.shop, when=whole.when, lines=index(whole), left_out=left_out,
                                                files=[name for name in sorted(whole.files) if name in made.namelist()]))
    yield out.taken()


def index(whole: Whole) -> list[Line]:
    """What is in it, in the order of the house."""
    found = [Line(called(name), len(rows), f"tables/{name}.csv", source_of(name)) for name, rows in whole.tables.items() if rows]
    for folder, what in (("photos", "Photos of your amps, as they were taken"), ("papers", "Papers that were issued")):
        if number := sum(name.startswith(folder) for name in whole.files):
            found.append(Line(what, number, f"{folder}/", source_of("photo" if folder == "photos" else "issued_document")))
    return found


def _rows(name: str, keys: set[int]) -> Iterator[Row]:
    table = Base.metadata.tables[name]
    for some in scope.parts(sorted(keys)):
        for row in session().execute(sa.select(*shown(table)).where(table.c.id.in_(some)).order_by(table.c.id)).mappings():
            yield dict(row)


def _history(customer: Customer, own: Mapping[str, set[int]], others: list[Replacer]) -> Iterator[Row]:
    """The journal's entries about them and their repairs; not the seals, which say nothing of anybody."""
    table: Any = JournalEntry.__table__
    asked = sa.select(*(table.c[name] for name in _HISTORY)).where(sa.or_(
        table.c.order_id.in_(own.get(RepairOrder.__tablename__, set())),
        sa.and_(table.c.subject_type == Customer.__tablename__, table.c.subject_id.in_(scope.ids_of(customer)))))
    for row in session().execute(asked.order_by(table.c.seq)).mappings():
        told = {**row, "before": json.loads(row["before"]), "after": json.loads(row["after"])}
        yield _told(told, others)


def _told(row: Row, others: list[Replacer]) -> Row:
    found: Row = {}
    for name, value in row.items():
        for other in others:
            value = other.value(value, own=True)
        found[name] = value.isoformat() if isinstance(value, datetime | date) else value
    return found


def _others(customer: Customer, orders: list[RepairOrder]) -> list[Replacer]:
    """What replaces the other people of the same repairs. What they share with this customer stays: it is theirs too."""
    mine = words_of([{"name": customer.name, "phone": customer.phone, "email": customer.email, "address": customer.address}])
    ids = scope.ids_of(customer)
    people = {who.id: who for order in orders for who in (order.depositor, order.owner, order.authority) if who.id not in ids}
    found = []
    for who in people.values():
        words = words_of(scope.told_of(who))
        theirs = Words(words.names - mine.names, words.phones - mine.phones, words.emails - mine.emails,
                       words.addresses - mine.addresses)
        found.append(Replacer(theirs, ANOTHER))
    return found


def _lines(rows: list[Row]) -> Iterator[str]:
    if rows:
        yield cells.line(rows[0].keys())
        yield from (cells.line(row.values()) for row in rows)


class _Out:
    """What a ZIP is written to, to be taken away part by part. It cannot be gone back in, so that nothing has to be kept."""

    def __init__(self) -> None:
        self._parts: list[bytes] = []

    def write(self, part: bytes) -> int:
        self._parts.append(bytes(part))
        return len(part)

    def flush(self) -> None:
        """Nothing waits here that could be flushed."""

    def taken(self) -> bytes:
        """What was written since the last time."""
        found, self._parts = b"".join(self._parts), []
        return found
