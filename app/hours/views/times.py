"""Timers: one tap to start, to switch and to stop; corrections and hours entered afterwards."""

from __future__ import annotations

from datetime import datetime

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may, person
from app.access.rules import May
from app.hours.forms import EnterForm, StartForm, TimesForm
from app.hours.queries.clock_in import my_timer
from app.hours.queries.work import pieces, span_of
from app.hours.rules.timing import forgotten
from app.hours.service import tasks, timers
from app.hours.views.common import bp, load_entry, load_open_order
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, save_or_reshow, saving
from app.quote.rules.lines import say_hours
from app.shop.queries import the_shop


@bp.route("/start", methods=["GET", "POST"])
@may(May.WORK)
def start(order_id: int) -> Response | str:
    """Start the timer of whoever is signed in; asked back, the same page, where nobody agreed to the work."""
    order = load_open_order(order_id)
    mine = my_timer()
    form = read_form(StartForm, work=request.args.get("work", ""), step=request.args.get("step", ""),
                     running=str(mine.entry_id) if mine else "")
    found = tasks.load(order, form.key)

    def act(saved: Saved) -> Response:
        entry = timers.start(order, found.key, form.step.data or "", seen=form.seen, allowed_by=form.allowed_by.data or "",
                             by=actor(), now=clock.now())
        flash(f"Your timer runs on: {entry.task.what}.", "saved")
        return saved("hours.page", order_id=order_id) if not form.step.data else saved("reassembly.page", order_id=order_id)

    done = save_or_reshow(form, act)
    return done or render_template("hours/start.html", order=order, form=form, piece=found, has_errors=form.has_errors,
                                   why=timers.why_asked(order, found, clock.now()))


@bp.post("/start-unattended")
@may(May.WORK)
def start_alone(order_id: int) -> Response:
    """It dries, cures or soaks from now on."""
    order = load_open_order(order_id)
    key = read_form(StartForm).key
    with saving() as saved:
        timers.start_alone(order, tasks.load(order, key).key, by=actor(), now=clock.now())
        flash("Its unattended time runs.", "saved")
        return saved("hours.page", order_id=order_id)


@bp.post("/stop")
@may(May.SEE)
def stop(order_id: int) -> Response:
    """Stop the timer of whoever is signed in: their own, so whatever their role is by now."""
    form = read_form(StartForm)
    with saving() as saved:
        entry = timers.stop(person().id, seen=form.seen, by=actor(), now=clock.now())
        flash(f"Timer stopped: {say_hours(span_of(entry).hours(clock.now()))} on {entry.task.what}.", "saved")
        return saved("hours.page", order_id=entry.order_id)


@bp.post("/entries/<int:entry_id>/end")
@may(May.WORK)
def stop_alone(order_id: int, entry_id: int) -> Response:
    """End an unattended time."""
    order = load_open_order(order_id)
    with saving() as saved:
        timers.stop_alone(load_entry(order, entry_id), by=actor(), now=clock.now())
        flash("Its unattended time is ended.", "saved")
        return saved("hours.page", order_id=order_id)


@bp.route("/entries/<int:entry_id>/correct", methods=["GET", "POST"])
@may(May.WORK)
def correct(order_id: int, entry_id: int) -> Response | str:
    """Enter what was really worked; the likely end of a forgotten timer is filled in."""
    order = load_open_order(order_id)
    entry, shop, now = load_entry(order, entry_id), the_shop(), clock.now()
    asked = forgotten(span_of(entry), now, shop.opening, shop.zone, shop.timer_longest_hours)
    form = read_form(TimesForm, **_on_the_wall(entry.started_at, asked.since if asked else entry.stopped_at or now))

    def act(saved: Saved) -> Response:
        made = timers.correct(order, entry, form.span(shop.zone, span_of(entry)), form.reason.data or "", by=actor(), now=now)
        flash(f"Corrected to {say_hours(span_of(made).hours(now))}. The first entry stays readable.", "saved")
        return saved("hours.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("hours/correct.html", order=order, entry=entry, form=form, asked=asked,
                                                        has_errors=form.has_errors)


@bp.route("/enter", methods=["GET", "POST"])
@may(May.WORK)
def enter(order_id: int) -> Response | str:
    """Hours that were worked without a timer."""
    order, now = load_open_order(order_id), clock.now()
    form = read_form(EnterForm, **_on_the_wall(now, now))
    form.offer(pieces(order))

    def act(saved: Saved) -> Response:
        made = timers.enter(order, tasks.load(order, form.key).key, form.span(the_shop().zone), form.reason.data or "", by=actor(),
                            now=now)
        flash(f"{say_hours(span_of(made).hours(now))} entered.", "saved")
        return saved("hours.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("hours/enter.html", order=order, form=form, has_errors=form.has_errors)


def _on_the_wall(start: datetime, end: datetime) -> dict[str, object]:
    """The fields of two moments as the shop's clock shows them."""
    first, last = start.astimezone(the_shop().zone), end.astimezone(the_shop().zone)
    return {"day": first.date(), "started": first.time().replace(second=0, microsecond=0),
            "stopped_day": last.date() if last.date() != first.date() else None,
            "stopped": last.time().replace(second=0, microsecond=0)}
