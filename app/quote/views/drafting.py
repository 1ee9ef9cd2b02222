"""The quote as it stands; its lines; issuing a revision."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
from app.exchange.queries import past_pairs
from app.findings.models.findings import Finding
from app.findings.queries import find_finding
from app.kernel.form_fields import read_form
from app.kernel.saving import check_fresh, saving
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.quote import costs, queries
from app.quote.facts import estimate_facts
from app.quote.forms import IssueForm, LineForm, WithdrawForm
from app.quote.models import Quote, QuoteLine
from app.quote.rules.lines import add_up, outlook, past_jobs_say
from app.quote.rules.words import PRESSING, LineGroup
from app.quote.service import issuing as issuing_service
from app.quote.service import lines as lines_service
from app.quote.service.issuing import COULD_CHANGE, DECLINING
from app.quote.views.common import bp, load_line, load_open_order, load_revision
from app.shop.queries import day, the_shop


@bp.get("")
@may(May.SEE)
def page(order_id: int) -> str:
    """The draft by group, what it adds up to, its revisions and the answers."""
    order = load_order(order_id)
    lines, quote, answer = queries.lines(order_id), queries.current(order), queries.authorisation(order)
    return render_template(
        "quote/page.html", order=order, groups=_groups(lines), quote=quote, answer=answer, past=queries.past_lines(order_id),
        out_of_date=queries.out_of_date(order), revisions=queries.revisions(order_id), papers=queries.acknowledgements(order_id),
        answers=queries.authorisations(order_id), to_acknowledge=queries.to_acknowledge(order),
        unquoted=queries.pressing_findings_not_quoted(order), findings=_findings(lines), cost=costs.standing(order),
        answered=quote is not None and answer is not None and answer.quote_id == quote.id, **_sums(order, lines))


@bp.route("/lines/new", methods=["GET", "POST"])
@may(May.QUOTE)
def new_line(order_id: int) -> Response | str:
    order = load_open_order(order_id, May.QUOTE)
    finding = _asked_finding(order)
    form = read_form(LineForm, finding=finding.id if finding else 0, group=_group(finding), what=_proposal(finding),
                     warranty_days=the_shop().warranty_days)
    form.offer(queries.findings_to_quote(order))
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                lines_service.add(order, form.draft(), by=actor(), now=clock.now())
                flash("The item is on the quote.", "saved")
                return saved("quote.page", order_id=order_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return _line_page(order, form, None)


@bp.route("/lines/<int:line_id>/change", methods=["GET", "POST"])
@may(May.QUOTE)
def change_line(order_id: int, line_id: int) -> Response | str:
    """The line that stands in this place now, to be replaced by a better one."""
    order = load_open_order(order_id, May.QUOTE)
    line = load_line(order, line_id).newest
    form = read_form(LineForm, obj=line, finding=line.finding_id or 0)
    if request.method == "GET" and not line.hours.in_doubt:
        form.hours_low.data = form.hours_high.data = None
    form.offer({one.id: one for one in [*queries.findings_to_quote(order), *_findings([line]).values()]}.values())
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                newest = line.newest
                check_fresh(newest, form)
                lines_service.change(order, newest, form.draft(), by=actor(), now=clock.now())
                flash("The item is changed. The earlier one stays readable below.", "saved")
                return saved("quote.page", order_id=order_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return _line_page(order, form, line)


def _line_page(order: RepairOrder, form: LineForm, line: QuoteLine | None) -> str:
    """The form of a line, with what the shop's past jobs say about estimated hours."""
    return render_template("quote/line.html", order=order, form=form, line=line, past=past_jobs_say(past_pairs()),
                           has_errors=form.has_errors)


@bp.route("/lines/<int:line_id>/withdraw", methods=["GET", "POST"])
@may(May.QUOTE)
def withdraw_line(order_id: int, line_id: int) -> Response | str:
    order = load_open_order(order_id, May.QUOTE)
    line = load_line(order, line_id).newest
    form = read_form(WithdrawForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            newest = line.newest
            check_fresh(newest)
            lines_service.withdraw(newest, form.reason.data, order=order, by=actor(), now=clock.now())
            flash("The item is withdrawn. It stays readable below.", "saved")
            return saved("quote.page", order_id=order_id)
    return render_template("quote/withdraw.html", order=order, form=form, line=line, has_errors=form.has_errors)


@bp.route("/issue", methods=["GET", "POST"])
@may(May.QUOTE)
def issue(order_id: int) -> Response | str:
    """The lines as they stand, with what is said with them; issuing freezes them."""
    order = load_open_order(order_id, May.QUOTE)
    lines, before = queries.lines(order_id), queries.current(order)
    sums = _draft_sums(order, lines)
    form = read_form(IssueForm, maximum_minor=sums["outlook"].maximum_minor, declining_means=DECLINING,
                     **({name: getattr(before, name) for name in ("days_to_complete", "old_parts", "could_change", "assumptions")}
                        if before else {"could_change": COULD_CHANGE}))
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                made = issuing_service.issue(order, form.terms(), by=actor(), now=clock.now())
                flash(f"Revision {made.number} is issued. It is valid until {day(made.valid_until)}.", "saved")
                return saved("quote.page", order_id=order_id)
        except BadInput as wrong:
            form.add_error(wrong)
    _show_what_stands(form, lines, before.number if before else 0)
    return render_template("quote/issue.html", order=order, form=form, groups=_groups(lines), before=before,
                           findings=_findings(lines), has_errors=form.has_errors, **sums)


@bp.get("/revisions/<int:quote_id>")
@may(May.SEE)
def show_revision(order_id: int, quote_id: int) -> str:
    """A revision as it was issued."""
    order = load_order(order_id)
    quote = load_revision(order, quote_id)
    return render_template("quote/revision.html", order=order, quote=quote, facts=estimate_facts(order, quote),
                           decided=queries.decided_on(quote))


def _show_what_stands(form: IssueForm, lines: list[QuoteLine], number: int) -> None:
    """The hidden fields name what the page shows now, also when it is shown again after a refusal."""
    for field, value in ((form.seen, ",".join(str(line.id) for line in lines)), (form.after, str(number))):
        field.data, field.raw_data = value, None


def _groups(lines: Sequence[QuoteLine]) -> list[tuple[LineGroup, list[QuoteLine]]]:
    """Lines of the draft under the words of their groups, empty groups left out."""
    return [(group, found) for group in LineGroup if (found := [line for line in lines if line.group is group])]


def _findings(lines: list[QuoteLine]) -> dict[int, Finding]:
    found = (find_finding(line.finding_id) for line in lines if line.finding_id)
    return {one.id: one for one in found if one is not None}


def _sums(order: RepairOrder, lines: list[QuoteLine]) -> dict[str, Any]:
    """What the quote comes to: as it was issued while nothing on it has changed since, else as it would be issued now."""
    issued = queries.current(order)
    if issued is None or queries.out_of_date(order):
        return _draft_sums(order, lines)
    return {"sums": issued.sums, "tax": issued.tax_rule,
            "left_out": _left_out(issued), "decided": queries.decided(order),
            "outlook": {"words": issued.range_words, "maximum_minor": issued.maximum_minor}}


def _draft_sums(order: RepairOrder, lines: list[QuoteLine]) -> dict[str, Any]:
    """What the lines come to at the shop's prices of today, without what the standing answer declines."""
    tax, counted = the_shop().tax_rule, queries.counted(order, lines)
    return {"sums": add_up((line.net_minor for line in counted), tax), "tax": tax,
            "outlook": outlook([line.priced for line in counted], tax),
            "left_out": dict.fromkeys(queries.declined_line_ids(order), "Not in the total, as it is declined"),
            "decided": queries.decided(order)}


def _left_out(quote: Quote) -> dict[int, str]:
    """Items of a revision that are named on it without being in its total, by the id of the item, and why."""
    return {line.line_id: "Not in the total: it was declined before" for line in quote.lines if line.declined_before}


def _asked_finding(order: RepairOrder) -> Finding | None:
    number = request.args.get("finding", "")
    found = find_finding(int(number)) if number.isdecimal() else None
    return found if found is not None and found.order_id == order.id else None


def _group(finding: Finding | None) -> LineGroup | None:
    return LineGroup.SAFETY if queries.risk_letter(finding) in PRESSING else None


def _proposal(finding: Finding | None) -> str:
    """What was decided about the finding, as a first wording."""
    if finding is None or finding.disposition is None:
        return ""
    return finding.disposition_words or f"{finding.disposition.word.capitalize()}: {finding.observation}"
