"""The money by its pages: deposit, bill, part payment, credit note, refund, and what is owed."""

from __future__ import annotations

import csv
import io
from datetime import timedelta

from flask import Flask

from app import clock
from app.db import session, transaction
from app.money import period, queries
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.shop.queries import the_shop
from tests.documents import make as story
from tests.handover import make as hand
from tests.money import make
from tests.pages import PageClient


def plain(page: object) -> str:
    return str(getattr(page, "words", "")).replace("\u00a0", " ")


def at_return(app: Flask) -> int:
    with app.app_context(), transaction():
        order = story.repaired(story.quoted(story.taken_in()))
        hand.check_off(order)
        return order.id


def test_a_day_of_money_from_the_deposit_to_the_last_coin(app: Flask, counter: PageClient, technician: PageClient) -> None:
    order_id = at_return(app)
    at = f"/orders/{order_id}/money"
    assert "Nothing is billed yet." in plain(counter.get(at))
    form = counter.get(f"{at}/new/deposit").fields()
    assert form["amount_minor"] == "" and "method" not in form
    counter.post(f"{at}/new/deposit", {"amount_minor": "30", "method": "cash"})
    assert "AUD 30.00 is held as a deposit." in plain(counter.get(at))
    page = counter.post(f"/orders/{order_id}/return/sums", {"paid_minor": "40", "method": "card", "on_account": "Friday"})
    page = counter.get(at)
    assert "AUD 15.00 is owed." in plain(page) and "Bill 1" in plain(page) and "Friday" not in plain(page)
    with app.app_context():
        bill = queries.account(order_id).bills[0]
        assert (bill.total_minor, bill.number) == (8500, 1)
    page = counter.post(f"{at}/bills/{bill.id}/credit", {"credit_minor": "10", "reason": "the fuse was in stock"})
    assert "AUD 5.00 is owed." in plain(page) and "Credit note 1" in plain(page)
    assert "Save the payment again" in plain(counter.get(f"/orders/{order_id}/return")) or "save the payment again" in plain(
        counter.get(f"/orders/{order_id}/return"))
    page = counter.post(f"{at}/new/payment", {"amount_minor": "6", "method": "cash"})
    assert "more than is owed" in plain(page)
    counter.post(f"{at}/new/payment", {"amount_minor": "5", "method": "cash"})
    assert "Nothing is owed." in plain(counter.get(at)) and "Record a payment" not in plain(counter.get(at))
    assert "Record a payment" not in plain(technician.get(at))
    technician.get(f"{at}/new/payment", status=403)


def test_papers_of_the_money_say_its_rows(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = make.order_to_bill()
        bill = make.bill(order)
        paid = make.enter(order, 10_000)
        note = make.credit(bill, 1100)
        order_id, bill_id, paid_id, note_id = order.id, bill.id, paid.id, note.id
        order.ended_as, order.ended_at = End.REPAIRED, make.LATER
    papers = f"/orders/{order_id}/papers"
    words = plain(counter.get(f"{papers}/bill?about={bill_id}"))
    for said in ("Bill 1", "Wren Adler", "Replace the supply capacitors", "90 days from the day of return", "Before tax AUD 184.50",
                 "GST 10 %", "AUD 18.45", "Total AUD 202.95", "a credit note corrects it"):
        assert said in words, said
    words = plain(counter.get(f"{papers}/credit?about={note_id}"))
    for said in ("It corrects bill 1", "Before tax AUD 10.00", "AUD 1.00", "Credited AUD 11.00", "a valve was counted twice"):
        assert said in words, said
    words = plain(counter.get(f"{papers}/payment?about={paid_id}"))
    assert "Payment received" in words and "AUD 100.00" in words and "bill 1" in words
    for kind, about in (("bill", bill_id), ("credit", note_id), ("payment", paid_id)):
        page = counter.get(f"{papers}/{kind}?about={about}")
        page = counter.send(f"{papers}/{kind}", {**page.fields(f"{papers}/{kind}"), "as_page": "yes"})
        assert "revision 1" in plain(page)  # also after the repair has ended
        assert "says just this" in plain(counter.get(f"{papers}/{kind}?about={about}"))
    counter.get(f"{papers}/bill?about={bill_id + 9}", status=404)


def test_what_is_owed_stands_on_a_list_and_a_statement(app: Flask, counter: PageClient, owner: PageClient) -> None:
    assert "Nothing is owed." in plain(counter.get("/money"))
    with app.app_context(), transaction():
        order = make.order_to_bill()
        make.bill(order)
        make.enter(order, 10_295)
        order_id, customer_id = order.id, order.authority_id
    page = counter.get("/money")
    assert "AUD 100.00" in plain(page) and "Wren Adler" in plain(page) and "overdue" in plain(page)
    assert f"/orders/{order_id}/money" in page.links() and f"/money/statements/{customer_id}" in page.links()
    words = plain(counter.get(f"/money/statements/{customer_id}"))
    assert "AUD 202.95" in words and "AUD 102.95" in words and "AUD 100.00" in words
    counter.get("/money/statements/999", status=404)
    counter.get("/money/accounts", status=403)


def test_the_accountants_file_adds_up(app: Flask, owner: PageClient) -> None:
    with app.app_context(), transaction():
        order = make.order_to_bill()
        bill = make.bill(order)
        make.enter(order, 10_000)
        make.credit(bill, 1100)
        make.enter(order, 500, now=make.LATER + timedelta(days=40))
        first = make.LATER.astimezone(the_shop().zone).date()
        later = (make.LATER + timedelta(days=40)).astimezone(the_shop().zone).date()
    answer = owner.client.get(f"/money/accounts?first={first}&last={first}&as=csv")
    assert answer.mimetype == "text/csv" and f"accounts-{first}-to-{first}.csv" in answer.headers["Content-Disposition"]
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    lines = [row for row in rows if row["repair"]]
    total = next(row for row in rows if row["what"] == "total of this period")
    for column in ("before tax", "tax", "billed", "received", "written off"):
        assert round(sum(float(row[column]) for row in lines), 2) == float(total[column]), column
    assert {row["what"] for row in lines} == {"bill: repair", "credit note: to bill 1", "payment"}
    after = next(row for row in rows if row["what"] == "owed after this period")
    assert (float(total["billed"]), float(total["received"]), float(after["billed"])) == (191.95, 100.0, 91.95)
    page = owner.get(f"/money/accounts?first={later}&last={later}")
    assert "Owed before AUD 91.95" in plain(page) and "Owed after AUD 86.95" in plain(page)
    with app.app_context():
        assert sum(one.minor for one in queries.owed(later)) == 8695
    assert "lies before the first" in plain(owner.get(f"/money/accounts?first={later}&last={first}"))


def test_holding_an_amp_says_what_was_read_of_the_place(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = make.order_to_bill()
        make.bill(order)
        order_id = order.id
    assert "No rule was read for this place" in plain(counter.get(f"/orders/{order_id}/money"))
    with app.app_context(), transaction():
        the_shop().jurisdiction = "us-ny"
    assert "Not confirmed in its source" in plain(counter.get(f"/orders/{order_id}/money"))
    with app.app_context(), transaction():
        the_shop().jurisdiction = "nz"
    words = plain(counter.get(f"/orders/{order_id}/money"))
    assert "Contract and Commercial Law Act 2017" in words and "Not confirmed" not in words


def test_warranty_has_its_first_and_last_day(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = make.order_to_bill()
        order.ended_as, order.ended_at = End.REPAIRED, clock.now()
        order_id = order.id
        out = clock.now().astimezone(the_shop().zone).date()
        session().flush()
        found = queries.warranties(session().get_one(RepairOrder, order_id))
        assert [(one.first, one.last) for one in found] == [(out, out + timedelta(days=90))]
    assert "Warranty" in plain(counter.get(f"/orders/{order_id}/money"))


def test_what_happened_on_one_day_stands_as_it_happened_and_a_refund_asks_why(app: Flask, counter: PageClient) -> None:
    order_id = at_return(app)
    at = f"/orders/{order_id}/money"
    counter.post(f"{at}/new/deposit", {"amount_minor": "30", "method": "cash"})
    counter.post(f"/orders/{order_id}/return/sums", {"paid_minor": "40", "method": "card", "on_account": "Friday"})
    counter.post(f"{at}/new/payment", {"amount_minor": "15", "method": "cash"})
    with app.app_context():
        told = [one.title for one in period.lines_until(clock.now().astimezone(the_shop().zone).date())]
    assert told == ["Deposit", "Bill 1: repair", "Payment", "Payment"]
    counter.post(f"{at}/bills/1/credit", {"credit_minor": "10", "reason": "charged twice"})
    page = counter.get(f"{at}/new/refund")
    assert "Why" in page.words and "Note (optional)" not in plain(page)
    refused = counter.post(f"{at}/new/refund", {"amount_minor": "10", "method": "cash", "note": " "})
    assert "Enter why." in refused.words
