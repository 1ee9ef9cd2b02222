"""The figures of the shop for a period, on the screen, on paper and as CSV files."""

from __future__ import annotations

from datetime import date, datetime

from flask import Blueprint, make_response, render_template, request
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import may
from app.access.rules import May
from app.bench.figures import income, queries, tables
from app.bench.figures.rules import come_backs, hours, times
from app.bench.figures.rules.period import Period, choices, chosen, usual
from app.bench.figures.rules.tables import Table, Unit, Value, cells
from app.errors import BadInput, NotFound
from app.exchange.cells import line
from app.kernel.form_fields import DayField, House
from app.kernel.money import digits
from app.shop.queries import the_shop

bp = Blueprint("figures", __name__, url_prefix="/shop/figures")


class PeriodForm(House):
    """From which day to which."""

    first = DayField("From")
    last = DayField("To")


@bp.get("")
@may(May.SETTINGS)
def page() -> str:
    """All of them."""
    now = clock.now()
    today = now.astimezone(the_shop().zone).date()
    period, form = _asked(today)
    found = times.turnaround(queries.stories(period, the_shop().zone))
    left = queries.left(period, the_shop().zone)
    shown = _tables(period, now, found, left)
    return render_template("bench/figures.html", period=period, form=form, tables=shown, turnaround=found, choices=choices(today),
                           rate=come_backs.come_backs(left, today), window=come_backs.WINDOW, has_errors=form.has_errors)


@bp.get("/<key>.csv")
@may(May.SETTINGS)
def csv(key: str) -> Response:
    """One table as a CSV file."""
    now = clock.now()
    period = _strictly(now.astimezone(the_shop().zone).date())
    zone = the_shop().zone
    shown = _tables(period, now, times.turnaround(queries.stories(period, zone)), queries.left(period, zone))
    table = next((one for one in shown if one.key == key), None)
    if table is None:
        raise NotFound("There is no such table of figures.")
    answer = make_response("".join(line(row) for row in _in_money(table)))
    answer.mimetype = "text/csv"
    answer.headers["Content-Disposition"] = f'attachment; filename="{table.key}-{period.first}-{period.last}.csv"'
    return answer


def _tables(period: Period, now: datetime, found: times.Turnaround | None, left: list[come_backs.Left]) -> list[Table]:
    """Each table, in the order of the page."""
    zone = the_shop().zone
    today = now.astimezone(zone).date()
    return [tables.times(found), tables.come_backs(come_backs.come_backs(left, today), left), tables.came_back(left),
            tables.hours(hours.by_kind(queries.done(period, zone))), tables.income(income.KINDS, income.months(period, zone)),
            tables.waiting(queries.waiting(now), today)]


def _asked(today: date) -> tuple[Period, PeriodForm]:
    """The period in the address, or the usual one with what is wrong with that in the form."""
    standing = usual(today)
    first, last = request.args.get("first", ""), request.args.get("last", "")
    form = PeriodForm(MultiDict({"first": first or standing.first.isoformat(), "last": last or standing.last.isoformat()}))
    try:
        return chosen(first, last, today), form
    except BadInput as wrong:
        form.add_error(wrong)
        return standing, form


def _strictly(today: date) -> Period:
    """The period in the address; NotFound in its words where there is none such."""
    try:
        return chosen(request.args.get("first", ""), request.args.get("last", ""), today)
    except BadInput as wrong:
        raise NotFound(wrong.words) from wrong


def _in_money(table: Table) -> list[list[Value]]:
    """Its rows with sums in the currency itself, which its heads name."""
    currency = the_shop().currency
    per = 10 ** digits(currency)
    sums = {place for place, column in enumerate(table.columns) if column.unit is Unit.MONEY}
    head, *body = cells(table)
    return [[f"{word} ({currency})" if place in sums else word for place, word in enumerate(head)],
            *([value / per if place in sums and isinstance(value, int) else value for place, value in enumerate(row)]
              for row in body)]
