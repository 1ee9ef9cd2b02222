"""The list of instruments, each instrument, and the shop's usual points."""

from __future__ import annotations

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.db import session, transaction
from app.errors import BadInput, NotFound
from app.kernel.form_fields import read_form
from app.kernel.saving import check_fresh, saving
from app.measuring import doubts, queries
from app.measuring.forms import AccuracyForm, ErrorForm, InstrumentForm, PointForm
from app.measuring.models import Accuracy, Instrument, UsualPoint
from app.measuring.rules import Quantity, State
from app.measuring.service import instruments as instruments_service
from app.measuring.service import points as points_service
from app.measuring.views.common import load_instrument

bp = Blueprint("instruments", __name__, url_prefix="/instruments")


@bp.get("")
@may(May.INSTRUMENTS)
def page() -> str:
    """All instruments with how they stand today."""
    day = queries.today(clock.now())
    rows = [(one, one.standing(day)) for one in queries.instruments()]
    return render_template("measuring/instruments.html", rows=rows, in_doubt=doubts.count_open())


@bp.route("/add", methods=["GET", "POST"])
@may(May.INSTRUMENTS)
def add() -> Response | str:
    form = read_form(InstrumentForm, state=State.IN_SERVICE)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                made = instruments_service.add_instrument(form.facts(), by=actor(), now=clock.now())
                flash(f"{made.name} is on the list. Enter what it states about its accuracy.", "saved")
                return saved("instruments.one", instrument_id=made.id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("measuring/add_instrument.html", form=form, has_errors=form.has_errors)


@bp.route("/<int:instrument_id>", methods=["GET", "POST"])
@may(May.INSTRUMENTS)
def one(instrument_id: int) -> Response | str:
    """One instrument: what is known of it, and its accuracies."""
    found = load_instrument(instrument_id)
    form = read_form(InstrumentForm, obj=found)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                check_fresh(found, form)
                instruments_service.change_instrument(found, form.facts(), by=actor(), now=clock.now())
                flash("Saved.", "saved")
                return saved("instruments.one", instrument_id=instrument_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return _instrument_page(found, form)


@bp.get("/<int:instrument_id>/out-of-tolerance")
@may(May.INSTRUMENTS)
def out_of_tolerance(instrument_id: int) -> str:
    """Which readings must be looked at again, once a calibration has found it wrong."""
    found = load_instrument(instrument_id)
    form = ErrorForm(request.args or None, since=found.calibrated_on)
    asked = bool(request.args) and form.validate()
    doubted = doubts.doubted(found, [form.error], form.since.data) if asked else None
    return render_template("measuring/out_of_tolerance.html", instrument=found, form=form, doubted=doubted,
                           has_errors=form.has_errors)


@bp.route("/<int:instrument_id>/accuracy", methods=["GET", "POST"])
@may(May.INSTRUMENTS)
def accuracy(instrument_id: int) -> Response | str:
    """One more accuracy statement."""
    found = load_instrument(instrument_id)
    form = read_form(AccuracyForm)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                instruments_service.state_accuracy(found, form.statement(), by=actor(), now=clock.now())
                flash("Saved.", "saved")
                return saved("instruments.one", instrument_id=instrument_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("measuring/accuracy.html", instrument=found, form=form, has_errors=form.has_errors)


@bp.post("/accuracy/<int:accuracy_id>/withdraw")
@may(May.INSTRUMENTS)
def withdraw_accuracy(accuracy_id: int) -> Response:
    found = session().get(Accuracy, accuracy_id)
    if found is None:
        raise NotFound("There is no such statement.")
    with saving() as saved:
        instruments_service.withdraw_accuracy(found, by=actor(), now=clock.now())
        flash("Withdrawn. Readings that used it keep it.", "saved")
        return saved("instruments.one", instrument_id=found.instrument_id)


@bp.route("/usual-points", methods=["GET", "POST"])
@may(May.INSTRUMENTS)
def usual_points() -> Response | str:
    """The set that is laid out on an order with one press."""
    if not queries.usual_points():
        with transaction():
            points_service.ensure_usual_points()
    form = read_form(PointForm, quantity=Quantity.VOLT_DC)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                made = points_service.add_usual_point(form.facts(), by=actor(), now=clock.now())
                flash(f"{made.name} is in the set.", "saved")
                return saved("instruments.usual_points")
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("measuring/usual_points.html", points=queries.usual_points(), form=form,
                           has_errors=form.has_errors)


@bp.post("/usual-points/<int:point_id>/withdraw")
@may(May.INSTRUMENTS)
def withdraw_usual_point(point_id: int) -> Response:
    found = session().get(UsualPoint, point_id)
    if found is None:
        raise NotFound("There is no such point in the set.")
    with saving() as saved:
        points_service.withdraw_usual_point(found, by=actor(), now=clock.now())
        flash(f"{found.name} is out of the set.", "saved")
        return saved("instruments.usual_points")


def _instrument_page(found: Instrument, form: InstrumentForm) -> str:
    count = queries.count_with(found)
    page = min(max(request.args.get("page", 1, type=int), 1), max(1, -(-count // queries.PAGE)))
    return render_template("measuring/instrument.html", instrument=found, form=form, count=count, page=page, size=queries.PAGE,
                           taken=queries.readings_with(found, page), standing=found.standing(queries.today(clock.now())),
                           calibrations=doubts.calibrations_of(found),
                           has_errors=form.has_errors)
