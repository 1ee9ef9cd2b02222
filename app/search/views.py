"""The page of answers, and the same answers alone for the box in the header."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from flask import Blueprint, render_template, request, url_for

from app.access.guard import may, person
from app.access.rules import May
from app.db import session
from app.orders.models import RepairOrder
from app.search import queries
from app.search.models import Kind
from app.search.queries import Found
from app.search.rules import Search, matched, understand, words_of
from app.search.service import Finds, known
from app.shop.queries import country

bp = Blueprint("search", __name__)

IN_THE_BOX = 5  # of each kind
ON_THE_PAGE = 50
LONGEST_TAG = 3  # words that may be a number and a tag
HEADINGS = {Kind.ORDER: "Repairs", Kind.CUSTOMER: "Customers", Kind.AMP: "Amps", Kind.NEED: "Parts of repairs",
            Kind.LISTED: "Suppliers’ lists", Kind.PAPER: "Papers"}


@dataclass(frozen=True)
class Line:
    """One answer: where it leads, what it is, in which facts the words were found, how its order stands, what warns about it."""

    url: str
    title: str
    because: tuple[tuple[str, str], ...]
    state: str
    warning: str


@dataclass(frozen=True)
class Group:
    """The answers of one kind; `more` if there are more than are shown."""

    heading: str
    lines: tuple[Line, ...]
    more: bool

    @property
    def count(self) -> int:
        return len(self.lines)


@bp.get("/search")
@may(May.SEE)
def page() -> str:
    typed = request.args.get("q", "").strip()
    return render_template("search/page.html", typed=typed, groups=answers(typed, ON_THE_PAGE), most=ON_THE_PAGE)


@bp.get("/search/box")
@may(May.SEE)
def box() -> str:
    """What is shown while one types, under the box in the header or on the page itself (`whole`): a part of a page."""
    typed, whole = request.args.get("q", "").strip(), "whole" in request.args
    most = ON_THE_PAGE if whole else IN_THE_BOX
    return render_template("search/box.html", typed=typed, groups=answers(typed, most), whole=whole, most=most)


def answers(typed: str, most: int) -> list[Group]:
    """What this person may see of what was found, by kind. Nothing typed: nothing."""
    search = understand(typed, country())
    if search.is_empty:
        return []
    kinds = [kind for kind in known().kinds if person().may(kind.need)]
    hits = queries.entries(queries.find_all([kind.kind for kind in kinds], search, most + 1))
    found = [(kind, hits[kind.kind]) for kind in kinds]
    tags = known().tags(session(), words_of(typed)) if len(words_of(typed)) <= LONGEST_TAG else []
    order_ids = {entry.order_id for _, entries in found for entry in entries[:most] if entry.order_id}
    standing = _standing(order_ids | {tag.order_id for tag in tags}, {entry.record_id for entry in hits.get(Kind.AMP, [])[:most]})
    groups = [Group(HEADINGS[kind.kind], tuple(_line(kind, entry, search, standing) for entry in entries[:most]),
                    len(entries) > most) for kind, entries in found]
    lines = tuple(Line(_url(tag.link), tag.title, (), standing.state(tag.order_id), standing.orders.get(tag.order_id, ""))
                  for tag in tags[:most])
    groups.insert(1, Group("Removed parts", lines, len(tags) > most))
    return [group for group in groups if group.lines]


@dataclass(frozen=True)
class Standing:
    """How the orders among the answers stand now, and what warns about orders and amps. Never from the index."""

    numbers: dict[int, int]
    words: dict[int, str]
    orders: dict[int, str]
    amps: dict[int, str]

    def state(self, order_id: int | None) -> str:
        return f"Repair {self.numbers[order_id]}: {self.words[order_id]}" if order_id in self.numbers else ""


def _standing(order_ids: set[int], amp_ids: set[int]) -> Standing:
    columns = (RepairOrder.id, RepairOrder.number, RepairOrder.stage, RepairOrder.ended_as)
    asked = sa.select(*columns).where(RepairOrder.id.in_(order_ids))
    rows = session().execute(asked).all() if order_ids else []
    return Standing({row[0]: row[1] for row in rows}, {row[0]: (row[3] or row[2]).word for row in rows},
                    known().order_warnings(session(), order_ids) if order_ids else {},
                    known().amp_warnings(session(), amp_ids) if amp_ids else {})


def _line(kind: Finds, entry: Found, search: Search, standing: Standing) -> Line:
    warnings = standing.amps if kind.kind is Kind.AMP else standing.orders
    named = entry.record_id if kind.kind is Kind.AMP else entry.order_id
    state = standing.words.get(entry.record_id, "") if kind.kind is Kind.ORDER else standing.state(entry.order_id)
    because = tuple(matched(entry.facts, search))
    return Line(_url(kind.link(entry.record_id, entry.order_id)), entry.title, because, state, warnings.get(named or 0, ""))


def _url(link: tuple[str, dict[str, Any]]) -> str:
    endpoint, values = link
    return url_for(endpoint, **values)
