"""Calibrations of an instrument, the file of a certificate, and the readings that a calibration put in doubt."""

from __future__ import annotations

from flask import Response, flash, make_response, render_template, request
from werkzeug.wrappers import Response as AnyResponse

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.drawings.prepare import PreparedDrawing, take
from app.errors import BadInput, NotFound
from app.kernel.form_fields import read_form
from app.kernel.local_forms import counted
from app.kernel.resubmitted_uploads import not_taken, uploads
from app.kernel.saving import Saved, save_or_reshow
from app.measuring import doubts
from app.measuring.calibration import Calibration, DoubtedReading
from app.measuring.forms import CalibrationForm, DoubtForm, RangeForm
from app.measuring.rules import State
from app.measuring.service import calibrations as service
from app.measuring.tolerance import Settled
from app.measuring.views.common import load_instrument
from app.measuring.views.instruments import bp
from app.orders.models import RepairOrder
from app.photos.prepare import name_of
from app.photos.store import the_store


@bp.route("/<int:instrument_id>/calibrations/add", methods=["GET", "POST"])
@may(May.INSTRUMENTS)
def add_calibration(instrument_id: int) -> AnyResponse | str:
    """A calibration as its certificate says it."""
    instrument = load_instrument(instrument_id)
    form = read_form(CalibrationForm, state=State.IN_SERVICE, good_on=instrument.calibrated_on)
    file, taken = (None, True) if request.method != "POST" or not form.validate() else _file(form)

    def act(saved: Saved) -> AnyResponse:
        made = service.record_calibration(instrument, form.certified(), file, by=actor(), now=clock.now())
        doubted = _doubts_words(len(made.doubts)) if made.errors else ""
        flash(f"The calibration of {instrument.name} is recorded. {doubted}", "saved")
        return saved("instruments.calibration", calibration_id=made.id)

    done = save_or_reshow(form, act) if taken else None
    return done or render_template("measuring/add_calibration.html", instrument=instrument, form=form, has_errors=form.has_errors)


@bp.get("/calibrations/<int:calibration_id>")
@may(May.SEE)
def calibration(calibration_id: int) -> str:
    """One calibration, and what came of each reading that it put in doubt."""
    found = _load(calibration_id)
    return render_template("measuring/calibration.html", calibration=found, rows=doubts.with_orders(found))


@bp.route("/calibrations/<int:calibration_id>/ranges/add", methods=["GET", "POST"])
@may(May.INSTRUMENTS)
def add_range(calibration_id: int) -> AnyResponse | str:
    """One more range on which it was found wrong."""
    found = _load(calibration_id)
    form = read_form(RangeForm)

    def act(saved: Saved) -> AnyResponse:
        opened = service.add_error(found, form.error, by=actor(), now=clock.now())
        flash(f"The range is added. {_doubts_words(len(opened))}", "saved")
        return saved("instruments.calibration", calibration_id=calibration_id)

    return save_or_reshow(form, act) or render_template("measuring/add_range.html", calibration=found, form=form,
                                                        has_errors=form.has_errors)


@bp.get("/calibrations/<int:calibration_id>/certificate")
@may(May.SEE)
def certificate(calibration_id: int) -> Response:
    """The certificate's file, to be saved: a browser shows no foreign file under this address."""
    found = _load(calibration_id)
    if found.sha256 is None or found.media_type is None:
        raise NotFound("This calibration has no file.")
    answer = make_response(the_store().get(found.sha256))
    answer.mimetype = found.media_type
    ending = found.media_type.split("/")[1].replace("jpeg", "jpg")
    answer.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    answer.headers["Content-Disposition"] = f'attachment; filename="certificate-{calibration_id}.{ending}"'
    return answer


@bp.get("/doubts")
@may(May.SEE)
def in_doubt() -> str:
    """Every reading in doubt that nobody has settled yet, safety first."""
    return render_template("measuring/in_doubt.html", rows=doubts.with_orders())


@bp.route("/doubts/<int:doubt_id>", methods=["GET", "POST"])
@may(May.WORK)
def doubt(doubt_id: int) -> AnyResponse | str:
    """One reading in doubt: whom to call, and what settles it."""
    found, order = _load_doubt(doubt_id)
    form = read_form(DoubtForm)

    def act(saved: Saved) -> AnyResponse:
        service.settle_doubt(found, form.how.data, words=form.words.data or "", by=actor(), now=clock.now())
        flash(f"{found.reading.point} is settled: {form.how.data.value}.", "saved")
        return saved("instruments.calibration", calibration_id=found.calibration_id)

    only_again = found.is_safety and doubts.is_here(found)
    return save_or_reshow(form, act) or render_template(
        "measuring/doubt.html", doubt=found, order=order, form=form, again=doubts.measured_again(found), only_again=only_again,
        customer_called=Settled.CALLED, has_errors=form.has_errors)


def _load(calibration_id: int) -> Calibration:
    found = doubts.find_calibration(calibration_id)
    if found is None:
        raise NotFound("There is no calibration at this address.")
    return found


def _load_doubt(doubt_id: int) -> tuple[DoubtedReading, RepairOrder]:
    found = doubts.find_doubt(doubt_id)
    if found is None:
        raise NotFound("There is no reading in doubt at this address.")
    return found, doubts.order_of(found)


def _file(form: CalibrationForm) -> tuple[PreparedDrawing | None, bool]:
    """The certificate's file if one was sent, and whether that is in order; a refusal stands beside the field."""
    given = uploads("file")
    if not given:
        return None, True
    if len(given) > 1:
        form.add_error(BadInput("Choose one file for the certificate, and leave the others out.", "file"))
        return None, False
    try:
        return take(given[0]), True
    except BadInput as wrong:
        not_taken(given[0])
        form.add_error(BadInput(f"{name_of(given[0])}: {wrong.words}", "file"))
        return None, False


def _doubts_words(count: int) -> str:
    return f"{counted(count, 'reading is', 'readings are')} in doubt." if count else "No verdict could flip."
