"""Income by month and kind, from real bills: by hand, and to the coin what the accountant's file says of the same days."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta

import pytest
from flask import Flask

from app.bench.figures.income import KINDS, months
from app.bench.figures.rules.period import Period
from app.db import transaction
from app.money import period as accountant
from app.money import service
from app.money.rules import EntryKind, Method
from app.shop.queries import the_shop
from tests.factories import NOW
from tests.money import make
from tests.pages import PageClient
from tests.people import BY

APRIL = NOW + timedelta(days=40)


def a_spring() -> None:
    """A bill of 202.95 in March, paid whole; 50.00 before it were struck out. In April 30.00 are credited and 20.00 given back."""
    order = make.order_to_bill()
    bill = make.bill(order)
    struck = make.enter(order, 5_000)
    service.strike(struck, "entered twice", by=BY, now=make.LATER)
    make.enter(order, 20_295)
    make.credit(bill, 3_000, now=APRIL)
    make.enter(order, 2_000, EntryKind.REFUND, Method.CARD, "overcharged", now=APRIL)


@pytest.mark.parametrize("engine_name", ["sqlite", "postgresql"], indirect=True)
def test_a_spring_by_hand_and_as_the_accountant_has_it(context: Flask) -> None:
    with transaction():
        a_spring()
    zone, spring = the_shop().zone, Period(date(2026, 3, 1), date(2026, 4, 30))
    march, april, every = months(spring, zone)
    repair, credited = KINDS.index("repair"), KINDS.index("credit notes")
    assert (march.kinds[repair], march.billed, march.tax, march.received) == (20_295, 20_295, 1_845, 20_295)
    assert (april.kinds[credited], april.billed, april.received) == (-3_000, -3_000, -2_000)
    _, totals = accountant.within(accountant.lines_until(spring.last), spring.first)
    assert (every.billed, every.tax, every.received) == (
        totals.billed_minor, totals.tax_minor + totals.second_minor, totals.received_minor)
    assert months(Period(date(2026, 1, 1), date(2026, 1, 31)), zone)[-1].billed == 0


@pytest.mark.parametrize("engine_name", ["sqlite"], indirect=True)
def test_the_page_and_its_file_show_months_in_money(app: Flask, engine_name: str, owner: PageClient) -> None:
    assert "Nothing was billed or received in this period." in owner.get("/shop/figures").words
    with app.app_context(), transaction():
        a_spring()
    words = owner.get("/shop/figures?first=2026-03-01&last=2026-04-30").words
    assert "2026-03" in words and "AUD 202.95" in words and "Storage" not in words
    rows = list(csv.reader(io.StringIO(owner.client.get("/shop/figures/income.csv?first=2026-03-01&last=2026-04-30").text)))
    assert rows[0] == ["Month", "Repair (AUD)", "Credit notes (AUD)", "Billed (AUD)", "Tax in it (AUD)", "Received (AUD)"]
    assert rows[1] == ["2026-03", "202.95", "0.0", "202.95", "18.45", "202.95"]
