"""The hours of the shop: who works on what, kinds of work, and how good the estimates were."""

from __future__ import annotations

from flask import Blueprint, flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import NotFound
from app.hours.forms import ChangeKindForm, KindForm
from app.hours.queries import history
from app.hours.queries import tasks as queries
from app.hours.queries.clock_in import running, to_look_at
from app.hours.rules.words import SHIPPED
from app.hours.service import kinds as service
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, check_fresh, save_or_reshow

bp = Blueprint("shop_hours", __name__, url_prefix="/hours")


@bp.get("")
@may(May.SEE)
def now() -> str:
    """Whose timer runs on what, and which entries should be looked at."""
    return render_template("hours/now.html", running=running(), look_at=to_look_at())


@bp.get("/estimates")
@may(May.SEE)
def coverage() -> str:
    """Claimed against reached, and how each kind of work turns out against its estimates."""
    pairs = history.finished_pairs()
    return render_template("hours/coverage.html", claimed=history.claimed(), replayed=history.replayed(pairs), pairs=len(pairs),
                           kinds=history.by_kind(), least=history.LEAST_FOR_REPLAY)


@bp.route("/kinds", methods=["GET", "POST"])
@may(May.SETTINGS)
def kinds() -> Response | str:
    """The shop's list of kinds of work."""
    form = read_form(KindForm)

    def act(saved: Saved) -> Response:
        made = service.add(form.name.data or "", form.areas.data or (), by=actor(), now=clock.now())
        flash(f"“{made.name}” is on the list.", "saved")
        return saved("shop_hours.kinds")

    done = save_or_reshow(form, act)
    return done or render_template("hours/kinds.html", form=form, stored=queries.kinds(), shipped=SHIPPED,
                                   has_errors=form.has_errors)


@bp.route("/kinds/<int:kind_id>", methods=["GET", "POST"])
@may(May.SETTINGS)
def kind(kind_id: int) -> Response | str:
    """Which findings propose a kind, and whether it is still used."""
    found = queries.find_kind(kind_id)
    if found is None:
        raise NotFound("There is no such kind of work.")
    form = read_form(ChangeKindForm, areas=found.areas, in_use=found.retired_at is None)

    def act(saved: Saved) -> Response:
        check_fresh(found)
        service.change(found, form.areas.data or (), in_use=bool(form.in_use.data), by=actor(), now=clock.now())
        flash("Saved.", "saved")
        return saved("shop_hours.kinds")

    return save_or_reshow(form, act) or render_template("hours/kind.html", form=form, kind=found, has_errors=form.has_errors)
