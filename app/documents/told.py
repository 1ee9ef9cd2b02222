"""What the page of a paper needs beside its facts: all of it worked out from them, in the shop's own words."""

from __future__ import annotations

import functools
from typing import Any

from app.documents.chart import Given, draw
from app.documents.papers.notice import Notice
from app.documents.papers.proof import PointRead, conditions, meters
from app.documents.papers.report import Report
from app.documents.rules import Kind
from app.handover.notices import for_jurisdiction
from app.kernel.money import show
from app.kernel.unbroken import unbroken
from app.orders.lugs import Lug, lugs
from app.orders.stages import End, Stage
from app.shop.queries import day, in_shop_words


def told(kind: Kind, facts: Any) -> dict[str, Any]:
    """The values of this kind's template beside `facts`."""
    return {"sum_of": functools.partial(_sum, currency_of(kind, facts)), **_more(kind, facts)}


def currency_of(kind: Kind, facts: Any) -> str:
    """In which its sums are; empty for a paper without any."""
    if kind is Kind.UNREPAIRED:
        return ""
    currency: str = facts.bill.currency if kind is Kind.REPORT else facts.currency
    return currency


def _sum(currency: str, minor: int) -> str:
    return unbroken(show(minor, currency))


def _more(kind: Kind, facts: Any) -> dict[str, Any]:
    if kind is Kind.REPORT:
        return _report(facts)
    return _notice(facts) if kind is Kind.NOTICE else {}


def _report(facts: Report) -> dict[str, Any]:
    return {"lugs": _strip(facts), "charts": draw(_given(one) for one in facts.points), "meters": meters(facts.points),
            "conditions": conditions(facts.points)}


def _notice(facts: Notice) -> dict[str, Any]:
    return {"content": for_jurisdiction(facts.jurisdiction).content}


def _strip(facts: Report) -> tuple[Lug, ...]:
    """The strip as it stands on paper: all made off once whoever took a repaired amp that passed has signed; barred where an
    amp that leaves unrepaired came to, once its warning is acknowledged.
    """
    out = facts.signed is not None and facts.stage is Stage.RETURN and facts.passed and not facts.do_not_energise
    how = (End.UNREPAIRED if facts.acknowledged else None) if facts.warning else End.REPAIRED if out else None
    return lugs(facts.stage, ended=how, held=False, left_on={stage: day(left) for stage, left in facts.left_on})


def _given(point: PointRead) -> Given:
    return Given(in_shop_words(point.name), point.lower, point.expected, point.upper,
                 point.on_scale(point.as_found), point.on_scale(point.as_left))
