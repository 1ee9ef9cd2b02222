"""The reading that a step asks for, judged at once; what an insulation test depends on; a deviation that is explained."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flask import flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput
from app.kernel.form_fields import read_form
from app.kernel.needs import never_kept
from app.kernel.saving import Saved, save_or_reshow
from app.measuring.insulation import REDUCED_V, SOURCE, TESTERS, USUAL_V, test_volts
from app.measuring.models import Instrument
from app.measuring.rules import Quantity, say_band
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.reassembly.forms import DeviationForm, FittedForm, InsulationForm, MeasureForm
from app.reassembly.queries.fitting import fitted, to_be_out
from app.reassembly.queries.limits import bench_limit, last_reading, ordinary_volts
from app.reassembly.queries.way import ReassemblyState
from app.reassembly.rules import EXPLICABLE, LIMITS, Limit
from app.reassembly.service import fitting as fitting_service
from app.reassembly.service import proofs as proofs_service
from app.reassembly.views.common import bp, meters_for, planned


@bp.route("/measure/<path:step>", methods=["GET", "POST"])
@may(May.WORK)
def measure(order_id: int, step: str) -> Response | str:
    """The reading right there, judged at once."""
    order = load_order(order_id, May.WORK)
    way, usable = planned(order, step), _fitting(planned(order, step), step)
    form = _measure_form(order, way, step, usable)

    def act(saved: Saved) -> Response:
        meter = next((one for one in usable if one.id == form.instrument.data), None)
        if meter is None:
            raise BadInput("Choose the meter.", "instrument")
        return _measured(saved, order, step, form, meter)

    return save_or_reshow(form, act) or _measure_page(order, way, step, form, usable)


@bp.post("/deviation/<path:step>")
@may(May.WORK)
def deviation(order_id: int, step: str) -> Response | str:
    """A reading that is no pass may stand, for a reason that is kept with the step."""
    order, form = load_order(order_id, May.WORK), read_form(DeviationForm)

    def act(saved: Saved) -> Response:
        made = proofs_service.stand_by(order, step, words=form.deviation.data, by=actor(), now=clock.now())
        flash(f"{made.label}: done with an explained deviation.", "saved")
        return saved("reassembly.page", order_id=order_id)

    if answer := save_or_reshow(form, act):
        return answer
    way, usable = planned(order, step), _fitting(planned(order, step), step)
    fresh = MeasureForm(data=_usual(order, way, step))
    fresh.offer(usable)
    return _measure_page(order, way, step, fresh, usable, explain=form)


def _limit(order: RepairOrder, way: ReassemblyState, step: str) -> Limit | None:
    what = way.origins[step][0]
    return bench_limit(order, what) if what in LIMITS else None


def _usual(order: RepairOrder, way: ReassemblyState, step: str) -> dict[str, Any]:
    """What the reading of a step is held against until someone enters another limit."""
    usual = _limit(order, way, step)
    return {"lower": usual.lower, "upper": usual.upper, "basis": usual.basis} if usual else {}


def _fitting(way: ReassemblyState, step: str) -> list[Instrument]:
    """The meters that can prove what the step asks for."""
    return meters_for(way.order, Quantity.OHM, TESTERS if way.origins[step][0] == "IR" else ())


def _measure_form(order: RepairOrder, way: ReassemblyState, step: str, usable: Sequence[Instrument]) -> MeasureForm:
    tested = way.origins[step][0] == "IR"
    form: MeasureForm = read_form(InsulationForm if tested else MeasureForm, **_usual(order, way, step))
    form.offer(usable)
    if isinstance(form, InsulationForm):
        form.offer_volts({REDUCED_V, ordinary_volts(order) or USUAL_V})
    return form


def _insulation(order: RepairOrder, way: ReassemblyState, step: str) -> dict[str, Any]:
    """What the page of an insulation test says: at what volts and why, what is out for it; nothing for another reading."""
    if way.origins[step][0] != "IR":
        return {"insulated": False}
    here = fitted(order)
    volts = test_volts(ordinary_volts(order), conducts=here.what) if here else None
    return {"insulated": True, "fitted": here, "volts": volts, "source": SOURCE, "out": to_be_out(order),
            "fitted_form": FittedForm()}


@bp.post("/fitted/<path:step>")
@never_kept
@may(May.WORK)
def say_fitted(order_id: int, step: str) -> Response | str:
    """One tap: whether something conducts between the mains and the metal."""
    order, form = load_order(order_id, May.WORK), read_form(FittedForm)

    def act(saved: Saved) -> Response:
        fitting_service.answer_fitted(order, conducts=form.conducts.data == "yes", by=actor(), now=clock.now())
        return saved("reassembly.measure", order_id=order_id, step=step)

    return save_or_reshow(form, act) or measure_again(order, step)


def measure_again(order: RepairOrder, step: str) -> str:
    """The page of a reading as it stands, after something beside it was refused."""
    way = planned(order, step)
    usable = _fitting(way, step)
    return _measure_page(order, way, step, _measure_form(order, way, step, usable), usable)


def _measure_page(order: RepairOrder, way: ReassemblyState, step: str, form: MeasureForm, usable: Sequence[Instrument],
                  explain: DeviationForm | None = None) -> str:
    last = last_reading(way, step)
    explicable = way.origins[step][0] in EXPLICABLE and last is not None and step not in way.records
    return render_template("reassembly/measure.html", order=order, way=way, step=way.steps[step], form=form,
                           usual=_limit(order, way, step), meters=usable,
                           last=last, explain=(explain or DeviationForm()) if explicable else None,
                           **_insulation(order, way, step),
                           has_errors=form.has_errors or (explain is not None and explain.has_errors))


def _measured(saved: Saved, order: RepairOrder, step: str, form: MeasureForm, meter: Instrument) -> Response:
    tested = {"level": form.level.data, "unplugged": form.unplugged.data} if isinstance(form, InsulationForm) else {}
    reading = proofs_service.measure(order, step, typed=form.typed.data, instrument=meter, lower=form.lower.data,
                                     upper=form.upper.data, basis=form.basis.data or "", zero_is_real=form.zero_is_real.data,
                                     by=actor(), now=clock.now(), **tested)
    limit = say_band(reading.lower, reading.upper, reading.unit)
    said = f"{reading.point}: {reading.words}, limit {limit}: {reading.said[1]}."
    if reading.passed:
        flash(said, "saved")
        return saved("reassembly.page", order_id=order.id)
    flash(f"{said} {reading.why} The reading is kept; the step stays open.", "refused")
    return saved("reassembly.measure", order_id=order.id, step=step)
