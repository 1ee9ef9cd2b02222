"""The bill and the quote add up as they are printed, in currencies of 0, 2 and 3 decimals (ISO 4217: JPY, AUD, KWD).

Everything is read off the page with `decimal` from the standard library, and added as a customer would.
"""

from __future__ import annotations

import dataclasses
import html
import re
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

import pytest
from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.db import transaction
from app.documents.paper import facts_of, write
from app.documents.papers.charges import Agreed, Bill, Settled, Work
from app.documents.papers.estimate import Estimate
from app.documents.papers.report import Report
from app.documents.rules import Kind, photo_address
from app.documents.told import told
from app.money.rules import Method
from app.orders.models import Channel
from app.quote.rules.words import LineGroup, WorkKind
from tests.documents import make as story
from tests.factories import NOW
from tests.handover import make as hand

DIGITS = {"JPY": 0, "AUD": 2, "KWD": 3}
MINOR = st.one_of(st.integers(0, 3_000), st.integers(0, 4_000_000))


def page_of(kind: Kind, facts: Report | Estimate) -> str:
    page = write(f"bodies/{kind.value}.html", facts=facts, photo_address=photo_address, **told(kind, facts))
    return re.sub(r"<svg.*?</svg>", "", page, flags=re.S)


def amount(text: str, currency: str) -> Decimal:
    """What a customer reads: 'AUD −1,234.50'."""
    found = re.fullmatch(rf"{currency} (−?)([\d,]+(?:\.(\d+))?)", html.unescape(text).replace("\u00a0", " ").strip())
    assert found, text
    assert len(found[3] or "") == DIGITS[currency], text
    return Decimal(("-" if found[1] else "") + found[2].replace(",", ""))


def rows_of(page: str, css: str) -> list[tuple[str, list[str]]]:
    """Heads and cells of every table of one class."""
    tables = re.findall(rf'<table class="{css}">.*?</table>', page, re.S)
    rows = [row for table in tables for row in re.findall(r"<tr.*?</tr>", table.split("<tbody>")[1], re.S)]
    return [(re.sub(r"<span.*?</span>|<[^>]*>", "", row.split("</th>")[0]).strip(),
             [re.sub(r"<[^>]*>", "", cell).strip() for cell in re.findall(r"<td.*?</td>", row, re.S)]) for row in rows]


def in_lines(page: str, currency: str) -> tuple[Decimal, Decimal]:
    """Labour and parts as the lines say them, added."""
    sums = [[amount(cell, currency) if cell != "—" else Decimal(0) for cell in cells[1:3]]
            for _, cells in rows_of(page, "doc-lines")]
    return sum((one[0] for one in sums), Decimal(0)), sum((one[1] for one in sums), Decimal(0))


def tax(net: Decimal, rate_bp: int, currency: str) -> Decimal:
    return (net * rate_bp / 10_000).quantize(Decimal(1).scaleb(-DIGITS[currency]), ROUND_HALF_UP)


@st.composite
def bills(draw: st.DrawFn) -> Bill:
    """A bill as the house makes one: what is agreed follows from the lines, what is due is entered."""
    lines = draw(st.lists(st.tuples(MINOR, MINOR), min_size=1, max_size=8))
    rate = draw(st.sampled_from([0, 500, 875, 1000, 2000, 2550]))
    net = sum(labour + parts for labour, parts in lines)
    taxed = int((Decimal(net) * rate / 10_000).to_integral_value(ROUND_HALF_UP))
    agreed = Agreed("Wren Adler", Channel.PHONE, NOW, net, taxed, net + taxed, "GST", rate, draw(MINOR), draw(st.booleans()), ())
    due = draw(st.one_of(st.none(), st.just(agreed.in_all_minor), MINOR))
    paid = None if due is None else draw(st.one_of(st.just(due), st.integers(0, due)))
    settled = None if due is None or paid is None else Settled(due, paid, Method.CARD, "next week", NOW)
    work = tuple(Work(f"Line {at}", WorkKind.REPAIR, "", 90, None, False, *line) for at, line in enumerate(lines))
    return Bill(draw(st.sampled_from(sorted(DIGITS))), work, agreed, 10**9, None if settled else net, settled)


@pytest.fixture
def report(context: Flask) -> Report:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
        hand.settle_all(order, 8500)
        hand.sign(order)
    found: Report = facts_of(order, Kind.REPORT)
    return found


@pytest.fixture
def estimate(context: Flask) -> Estimate:
    with transaction():
        order = story.quoted(story.taken_in())
    found: Estimate = facts_of(order, Kind.ESTIMATE)
    return found


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(bill=bills())
def test_a_bill_adds_up_as_it_is_printed(report: Report, bill: Bill) -> None:
    assert bill.agreed is not None
    page = page_of(Kind.REPORT, dataclasses.replace(report, bill=bill))
    sums = [(head, amount(cells[0], bill.currency)) for head, cells in rows_of(page, "doc-sums")]
    said = dict(sums)
    labour, parts = in_lines(page, bill.currency)
    assert (said["Labour"], said["Parts"]) == (labour, parts)
    assert said["Before tax"] == labour + parts
    taxed = next(value for head, value in sums if head.startswith("GST"))
    assert taxed == tax(said["Before tax"], bill.agreed.tax_rate_bp, bill.currency)
    assert said["Agreed total"] == said["Before tax"] + taxed
    running = said["Agreed total"] + said.get("Diagnosis", Decimal(0))
    if "Total with diagnosis" in said:
        assert said["Total with diagnosis"] == running
    running += said.get("Charged above what was agreed", Decimal(0)) + said.get("Charged below what was agreed", Decimal(0))
    if bill.settled is None:
        assert said.get("Total", said.get("Total with diagnosis")) == running and "Due" not in said
    else:
        assert said["Due"] == running
        assert said["Due"] - said["Paid"] == said.get("Open", Decimal(0))


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(lines=st.lists(st.tuples(st.sampled_from(list(LineGroup)), MINOR, MINOR), min_size=1, max_size=8),
       currency=st.sampled_from(sorted(DIGITS)), rate=st.sampled_from([0, 875, 1000, 2550]), diagnosis=MINOR,
       credited=st.booleans())
def test_a_quote_adds_up_as_it_is_printed(estimate: Estimate, lines: list[tuple[LineGroup, int, int]], currency: str, rate: int,
                                          diagnosis: int, credited: bool) -> None:
    net = sum(labour + parts for group, labour, parts in lines if group is not LineGroup.NOT_RECOMMENDED)
    taxed = int((Decimal(net) * rate / 10_000).to_integral_value(ROUND_HALF_UP))
    made = tuple(dataclasses.replace(estimate.lines[0], group=group, labour_minor=labour, parts_minor=parts, picture=None)
                 for group, labour, parts in lines)
    facts = dataclasses.replace(estimate, lines=made, currency=currency, net_minor=net, tax_rate_bp=rate, tax_minor=taxed,
                                total_minor=net + taxed, diagnosis_minor=diagnosis, diagnosis_credited=credited)
    page = page_of(Kind.ESTIMATE, facts)
    counted = page.split("<h2>Not recommended</h2>")
    labour, parts = in_lines(counted[0], currency)
    sums = [(head, amount(cells[0], currency)) for head, cells in rows_of(page, "doc-sums")]
    said = dict(sums)
    assert (said["Labour"], said["Parts"], said["Before tax"]) == (labour, parts, labour + parts)
    taxed_said = next(value for head, value in sums if head.startswith("GST"))
    assert taxed_said == tax(said["Before tax"], rate, currency) and said["Total"] == said["Before tax"] + taxed_said
    if diagnosis:
        assert said["Total with diagnosis"] == said["Total"] + said["Diagnosis"]
        assert said["Total with diagnosis"] == (max(said["Total"], Decimal(diagnosis).scaleb(-DIGITS[currency])) if credited
                                                else said["Total"] + Decimal(diagnosis).scaleb(-DIGITS[currency]))


def test_a_bill_that_does_not_add_up_is_seen(report: Report) -> None:
    """The tests above read the page and not the facts: a total that is one off is found."""
    agreed = report.bill.agreed
    assert agreed is not None
    wrong = dataclasses.replace(report.bill, agreed=dataclasses.replace(agreed, net_minor=agreed.net_minor + 1))
    with pytest.raises(AssertionError):
        test_a_bill_adds_up_as_it_is_printed.hypothesis.inner_test(report, wrong)  # type: ignore[attr-defined]
    assert report.bill.work[0].warranty == (date(2026, 3, 2), date(2026, 5, 31))
