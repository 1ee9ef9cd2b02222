"""What becomes of a finding: acted on, proved, withdrawn, reopened."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.accounts.rules import May
from app.teardown import service
from app.teardown.forms import ActForm, ProveForm, ReasonForm
from app.teardown.views.room import bp, load_finding
from app.web import actor, check_fresh, may, read_form, saving


@bp.route("/findings/<int:finding_id>/done", methods=["GET", "POST"])
@may(May.WORK)
def act(order_id: int, finding_id: int) -> Response | str:
    """What was done about it."""
    order, found = load_finding(order_id, finding_id, May.WORK)
    form = read_form(ActForm, words=found.acted_words or found.disposition_words)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            check_fresh(found)
            service.act_on(found, words=form.words.data, by=actor(), now=clock.now())
            flash(f"{found.title}: noted as done. Its check is still to come.", "saved")
            return saved("teardown.finding", order_id=order_id, finding_id=finding_id)
    return render_template("teardown/act.html", order=order, finding=found, form=form, has_errors=form.has_errors)


@bp.route("/findings/<int:finding_id>/proof", methods=["GET", "POST"])
@may(May.WORK)
def prove(order_id: int, finding_id: int) -> Response | str:
    """What its check showed."""
    order, found = load_finding(order_id, finding_id, May.WORK)
    form = read_form(ProveForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            check_fresh(found)
            service.prove(found, result=form.result.data, instrument=form.instrument.data or "", by=actor(),
                          now=clock.now())
            flash(f"{found.title} is proved.", "saved")
            return saved("teardown.finding", order_id=order_id, finding_id=finding_id)
    return render_template("teardown/prove.html", order=order, finding=found, form=form, has_errors=form.has_errors)


@bp.route("/findings/<int:finding_id>/withdraw", methods=["GET", "POST"])
@may(May.WORK)
def withdraw(order_id: int, finding_id: int) -> Response | str:
    order, found = load_finding(order_id, finding_id, May.WORK)
    form = read_form(ReasonForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            check_fresh(found)
            service.withdraw(found, reason=form.reason.data, by=actor(), now=clock.now())
            flash(f"{found.title} is withdrawn.", "saved")
            return saved("teardown.page", order_id=order_id)
    return render_template("teardown/reason.html", order=order, finding=found, form=form, heading="Withdraw",
                           button="Withdraw it", endpoint="teardown.withdraw", has_errors=form.has_errors,
                           below="It stays readable with its number and this reason. Its check will not be asked for.")


@bp.route("/findings/<int:finding_id>/reopen", methods=["GET", "POST"])
@may(May.WORK)
def reopen(order_id: int, finding_id: int) -> Response | str:
    order, found = load_finding(order_id, finding_id, May.WORK)
    form = read_form(ReasonForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            check_fresh(found)
            service.reopen(found, reason=form.reason.data, by=actor(), now=clock.now())
            flash(f"{found.title} is open again.", "saved")
            return saved("teardown.finding", order_id=order_id, finding_id=finding_id)
    return render_template("teardown/reason.html", order=order, finding=found, form=form, heading="Reopen",
                           button="Reopen it", endpoint="teardown.reopen", has_errors=form.has_errors,
                           below="What was done and proved stays in its history; it must be done and proved anew.")
