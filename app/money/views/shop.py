"""What is owed to the shop by whom, a customer's statement, and the accountant's file of a period."""

from __future__ import annotations

from datetime import date

from flask import make_response, redirect, render_template, request, url_for
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import may
from app.access.rules import May
from app.db import session
from app.errors import NotFound
from app.money import period, queries
from app.money.forms import PeriodForm
from app.money.rules import AGE_WORDS
from app.money.views.common import shop_bp
from app.records.models import Customer
from app.shop.queries import the_shop


@shop_bp.get("")
@may(May.HAND_OUT)
def owed() -> str:
    """Everything that is owed, by how long it has been due."""
    today = _today()
    found = queries.owed(today)
    ages = [(words, sum(one.minor for one in found if one.age == age)) for age, words in enumerate(AGE_WORDS)]
    return render_template("money/owed.html", found=found, ages=ages, total=sum(one.minor for one in found), words=AGE_WORDS,
                           today=today)


@shop_bp.get("/statements/<int:customer_id>")
@may(May.HAND_OUT)
def statement(customer_id: int) -> Response | str:
    """All bills, credit notes and payments of one customer, and what stands after them; of the record that was kept if merged."""
    customer = session().get(Customer, customer_id)
    if customer is None:
        raise NotFound("There is no such customer.")
    if customer.merged_into_id is not None:
        return redirect(url_for("accounts.statement", customer_id=customer.merged_into_id), 303)
    today = _today()
    lines, totals = period.within(period.lines_until(today, customer_id), date.min)
    running, rows = 0, []
    for one in lines:
        running += one.owed_minor
        rows.append((one, running))
    return render_template("money/statement.html", customer=customer, rows=rows, totals=totals, today=today,
                           owed=queries.owed(today, customer_id), words=AGE_WORDS)


@shop_bp.get("/accounts")
@may(May.SETTINGS)
def accounts() -> Response | str:
    """A period as the accountant asks for it, on the page or as a CSV file."""
    today = _today()
    start = today.replace(day=1)
    given = MultiDict({"first": start.isoformat(), "last": today.isoformat(), **request.args.to_dict()})
    form = PeriodForm(given)
    if not form.validate():
        return render_template("money/accounts.html", form=form, lines=[], totals=None, has_errors=form.has_errors)
    first, last = form.first.data, form.last.data
    lines, totals = period.within(period.lines_until(last), first)
    if request.args.get("as") == "csv":
        answer = make_response(period.csv_of(lines, totals, first, last))
        answer.mimetype = "text/csv"
        answer.headers["Content-Disposition"] = f'attachment; filename="accounts-{first}-to-{last}.csv"'
        return answer
    return render_template("money/accounts.html", form=form, lines=lines, totals=totals, first=first, last=last,
                           has_errors=False)


def _today() -> date:
    return clock.now().astimezone(the_shop().zone).date()
