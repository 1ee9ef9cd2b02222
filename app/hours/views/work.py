"""The hours of an order: its work, what was spent on it, its bar; tasks and calls."""

from __future__ import annotations

from typing import Any

from flask import flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import NotFound
from app.findings import queries as findings
from app.hours.forms import CallForm, PlanForm, ReasonForm, StartForm, TaskForm
from app.hours.models import TimeEntry
from app.hours.queries import tasks as queries
from app.hours.queries.clock_in import my_timer, to_look_at
from app.hours.queries.outlook import call_needed, order_hours, row_of
from app.hours.queries.work import Piece, pieces, span_of
from app.hours.rules.timing import billed_hours, spent
from app.hours.rules.words import Role, parse_key
from app.hours.service import calls, tasks
from app.hours.views.common import bp, load_open_order
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, check_fresh, save_or_reshow, saving
from app.orders import authority
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.reassembly.queries.way import way_back
from app.shop.queries import the_shop


@bp.get("")
@may(May.SEE)
def page(order_id: int) -> str:
    """Every piece of work with its timer, the bar, the entries and the calls."""
    order, now, mine = load_order(order_id), clock.now(), my_timer()
    hours = order_hours(order, now)
    entries = queries.entries_of(order)
    replaced = {one.takes_place_of_id: one for one in entries if one.takes_place_of_id}
    attended = sum(piece.spent(now) for piece in hours.pieces)
    return render_template(
        "hours/page.html", order=order, hours=hours, now=now, running_id=mine.entry_id if mine else 0, mine=mine,
        look_at=to_look_at(order_id), entries=list(reversed(entries)), replaced=replaced, call=call_needed(order, hours),
        calls=queries.calls_of(order), outlook=row_of(order_id), steps=_steps(order, hours.pieces), attended=attended,
        billed=billed_hours(attended, the_shop().bill_minutes), names={one.id: one.what for one in queries.tasks_of(order)})


@bp.route("/tasks/new", methods=["GET", "POST"])
@may(May.WORK)
def new_task(order_id: int) -> Response | str:
    """A task that no item of the quote stands for."""
    order = load_open_order(order_id)
    form = read_form(TaskForm)
    form.offer(queries.offered_kinds(), [one for one in pieces(order) if one.task is not None])
    form.offer_findings(findings.findings_of(order))

    def act(saved: Saved) -> Response:
        tasks.add(order, form.what.data or "", form.plan(), form.finding.data or None, by=actor(), now=clock.now())
        flash("The task is added.", "saved")
        return saved("hours.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("hours/task.html", order=order, form=form, piece=None,
                                                        has_errors=form.has_errors)


@bp.route("/tasks/<work>", methods=["GET", "POST"])
@may(May.WORK)
def plan(order_id: int, work: str) -> Response | str:
    """What is planned for a piece of work."""
    order = load_open_order(order_id)
    found = tasks.load(order, parse_key(work))
    form = read_form(PlanForm, **_planned(found))
    form.offer(queries.offered_kinds(), [one for one in pieces(order) if one.task is not None and one.key != found.key])
    if found.key.role is Role.ITEM:
        del form.hours_likely, form.hours_low, form.hours_high

    def act(saved: Saved) -> Response:
        if found.task is not None:
            check_fresh(found.task, form)
        tasks.change(order, found.key, form.plan(), by=actor(), now=clock.now())
        flash("The plan is saved.", "saved")
        return saved("hours.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("hours/task.html", order=order, form=form, piece=found,
                                                        has_errors=form.has_errors)


@bp.post("/finish")
@may(May.WORK)
def finish(order_id: int) -> Response:
    """A task is finished."""
    order = load_open_order(order_id)
    found = tasks.load(order, read_form(StartForm).key)
    with saving() as saved:
        tasks.finish(order, found.key, by=actor(), now=clock.now())
        flash(f"Finished: {found.what}.", "saved")
        return saved("hours.page", order_id=order_id)


@bp.post("/reopen")
@may(May.WORK)
def reopen(order_id: int) -> Response:
    """It was not finished after all."""
    order = load_open_order(order_id)
    found = tasks.load(order, read_form(StartForm).key)
    with saving() as saved:
        tasks.reopen(order, found.key, by=actor(), now=clock.now())
        flash(f"Open again: {found.what}.", "saved")
        return saved("hours.page", order_id=order_id)


@bp.route("/tasks/<int:task_id>/withdraw", methods=["GET", "POST"])
@may(May.WORK)
def withdraw(order_id: int, task_id: int) -> Response | str:
    """A task of its own will not be done."""
    order = load_open_order(order_id)
    task = queries.find_task(task_id)
    if task is None or task.order_id != order.id:
        raise NotFound("There is no such task on this repair.")
    form = read_form(ReasonForm)

    def act(saved: Saved) -> Response:
        tasks.withdraw(order, task, form.reason.data or "", by=actor(), now=clock.now())
        flash("The task is withdrawn.", "saved")
        return saved("hours.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("hours/withdraw.html", order=order, form=form, task=task,
                                                        has_errors=form.has_errors)


@bp.route("/call", methods=["GET", "POST"])
@may(May.AUTHORISE)
def call(order_id: int) -> Response | str:
    """A call about the hours, and its answer."""
    order = load_open_order(order_id, May.AUTHORISE)
    form = read_form(CallForm, reached_at=order.authority.phone or order.authority.email)

    def act(saved: Saved) -> Response:
        calls.call(order, form.call(), by=actor(), now=clock.now())
        flash("The call is recorded.", "saved")
        return saved("hours.page", order_id=order_id)

    done = save_or_reshow(form, act)
    return done or render_template("hours/call.html", order=order, form=form, hours=order_hours(order, clock.now()),
                                   ceiling_minor=authority.ceiling(order.id), has_errors=form.has_errors)


def _planned(found: Piece) -> dict[str, Any]:
    hours, task = found.hours, found.task
    three = {"hours_likely": hours.likely, "hours_low": hours.low, "hours_high": hours.high} if hours else {}
    return {"kind": found.kind, "unattended_hours": task.unattended_hours or None if task else None, **three}


def _steps(order: RepairOrder, every: tuple[Piece, ...]) -> list[tuple[str, str, float, float, bool]]:
    """Of the steps of the way back with minutes or time spent: id, label, planned minutes, spent minutes, whether done."""
    mine = next((one for one in every if one.key.role is Role.WAY_BACK), None)
    if mine is None:
        return []
    way, by_step = way_back(order, planned=False), _by_step(mine)
    now = clock.now()
    return [(name, way.label(name), step.minutes, spent([span_of(one) for one in by_step.get(name, ())], now) * 60,
             name in way.records) for name, step in way.steps.items() if step.minutes or name in by_step]


def _by_step(piece: Piece) -> dict[str, list[TimeEntry]]:
    found: dict[str, list[TimeEntry]] = {}
    for entry in piece.entries:
        if entry.step:
            found.setdefault(entry.step, []).append(entry)
    return found
