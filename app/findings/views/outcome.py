"""What becomes of a finding: acted on, proved, withdrawn, reopened."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.findings.forms.findings import ActForm, ProveForm, ReasonForm
from app.findings.service import outcome as outcome_service
from app.findings.views.room import bp, load_finding
from app.kernel.form_fields import read_form
from app.kernel.saving import check_fresh, saving


@bp.route("/findings/<int:finding_id>/done", methods=["GET", "POST"])
@may(May.WORK)
def act(order_id: int, finding_id: int) -> Response | str:
    """What was done about it."""
    order, found = load_finding(order_id, finding_id, May.WORK)
    form = read_form(ActForm, words=found.acted_words or found.disposition_words)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            check_fresh(found)
            outcome_service.act_on(found, words=form.words.data, by=actor(), now=clock.now())
            flash(f"{found.title}: noted as done. Its check is still to come.", "saved")
            return saved("findings.finding", order_id=order_id, finding_id=finding_id)
    return render_template("findings/act.html", order=order, finding=found, form=form, has_errors=form.has_errors)


@bp.route("/findings/<int:finding_id>/proof", methods=["GET", "POST"])
@may(May.WORK)
def prove(order_id: int, finding_id: int) -> Response | str:
    """What its check showed."""
    order, found = load_finding(order_id, finding_id, May.WORK)
    form = read_form(ProveForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            check_fresh(found)
            outcome_service.prove(found, result=form.result.data, instrument=form.instrument.data or "", by=actor(),
                          now=clock.now())
            flash(f"{found.title} is proved.", "saved")
            return saved("findings.finding", order_id=order_id, finding_id=finding_id)
    return render_template("findings/prove.html", order=order, finding=found, form=form, has_errors=form.has_errors)


@bp.route("/findings/<int:finding_id>/withdraw", methods=["GET", "POST"])
@may(May.WORK)
def withdraw(order_id: int, finding_id: int) -> Response | str:
    order, found = load_finding(order_id, finding_id, May.WORK)
    form = read_form(ReasonForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            check_fresh(found)
            outcome_service.withdraw(found, reason=form.reason.data, by=actor(), now=clock.now())
            flash(f"{found.title} is withdrawn.", "saved")
            return saved("findings.page", order_id=order_id)
    return render_template("findings/reason.html", order=order, finding=found, form=form, heading="Withdraw",
                           button="Withdraw the finding", endpoint="findings.withdraw", has_errors=form.has_errors,
                           below="It stays readable with its number and this reason. Its check will not be asked for.")


@bp.route("/findings/<int:finding_id>/reopen", methods=["GET", "POST"])
@may(May.WORK)
def reopen(order_id: int, finding_id: int) -> Response | str:
    order, found = load_finding(order_id, finding_id, May.WORK)
    form = read_form(ReasonForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            check_fresh(found)
            outcome_service.reopen(found, reason=form.reason.data, by=actor(), now=clock.now())
            flash(f"{found.title} is open again.", "saved")
            return saved("findings.finding", order_id=order_id, finding_id=finding_id)
    return render_template("findings/reason.html", order=order, finding=found, form=form, heading="Reopen",
                           button="Reopen it", endpoint="findings.reopen", has_errors=form.has_errors,
                           below="What was done and proved stays in its history; it must be done and proved again.")
