"""An answer that was read out from a revision that is no longer the newest: nothing of it counts, and nothing typed is lost.

A page of the answer carries the revision and the sum that it was read from. Lines that have not changed keep their tick; a
line that has changed says what it was and what it is now, and is asked again.
"""

from __future__ import annotations

from werkzeug.datastructures import MultiDict

from app import clock
from app.errors import BadInput
from app.kernel.local_forms import clock as clock_time
from app.kernel.local_forms import moment
from app.kernel.money import show
from app.orders.models import RepairOrder
from app.quote import queries
from app.quote.forms import AnswerForm
from app.quote.models import IssuedLine, Quote
from app.shop.queries import locale, the_shop

Posted = MultiDict[str, str]


def read_from(quote: Quote, posted: Posted) -> bool:
    """Whether the page was read from this revision and this sum."""
    return posted.get("quote") == str(quote.id) and posted.get("total") == str(quote.in_all_minor)


def carried_over(order: RepairOrder, lines: list[IssuedLine], posted: Posted) -> Posted:
    """What was posted, with the ticks of lines that have not changed since, and none for those that have."""
    was = _lines_read(order, posted)
    kept = MultiDict((name, value) for name, value in posted.items(multi=True) if not name.startswith("line_"))
    for line in lines:
        before = was.get(line.line_root_id)
        if before is not None and before.line_id == line.line_id and (tick := _ticked(before, posted)):
            kept[f"line_{line.id}"] = tick
    return kept


def say(form: AnswerForm, order: RepairOrder, quote: Quote, lines: list[IssuedLine], posted: Posted) -> None:
    """Say above the form which revision is the newest, and beside each changed line what it was."""
    form.validate()
    was = _lines_read(order, posted)
    form.add_error(BadInput(f"Revision {quote.number} was issued {_when(quote)} by {quote.issued_by}. Nothing was recorded. What "
                            "has changed is marked below: read it out again, then record the answer."))
    for line in lines:
        before = was.get(line.line_root_id)
        if before is not None and before.line_id == line.line_id:
            continue
        field = form[f"line_{line.id}"]
        tick = f" You had ticked: {tick}." if before is not None and (tick := _ticked(before, posted)) else ""
        field.errors = [f"{_change(before, line, quote.currency)}: read it out again.{tick}"]
    gone = [one.what for root, one in was.items() if root not in {line.line_root_id for line in lines}]
    if gone:
        form.add_error(BadInput(f"No longer on the quote: {'; '.join(gone)}."))


def _change(before: IssuedLine | None, line: IssuedLine, currency: str) -> str:
    if before is None:
        return "This line is new"
    if before.net_minor != line.net_minor:
        return f"This line was {show(before.net_minor, currency)}, now {show(line.net_minor, currency)}"
    return f"This line was “{before.what}”" if before.what != line.what else "This line was changed"


def _lines_read(order: RepairOrder, posted: Posted) -> dict[int, IssuedLine]:
    """The lines of the revision that the page was read from, by what they are about; none if it names none of this order."""
    named = posted.get("quote", "")
    read = queries.find_revision(int(named)) if named.isascii() and named.isdecimal() and len(named) < 12 else None
    return {line.line_root_id: line for line in read.lines} if read is not None and read.order_id == order.id else {}


def _ticked(line: IssuedLine, posted: Posted) -> str:
    tick = posted.get(f"line_{line.id}", "")
    return tick if tick in ("agreed", "declined") else ""


def _when(quote: Quote) -> str:
    zone = the_shop().zone
    issued = quote.issued_at.astimezone(zone)
    today = issued.date() == clock.now().astimezone(zone).date()
    return f"at {clock_time(issued)}" if today else f"on {moment(issued, locale())}"
