"""All output valves on one page, calculated while they are typed; and what hangs on the mains transformer."""

from __future__ import annotations

from typing import Any

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.electrics import ElectricsError, parse
from app.errors import BadInput, NotFound
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, save_or_reshow
from app.measuring import queries as measuring
from app.measuring.models import Instrument
from app.measuring.rules import Quantity, expanded, statement_for
from app.orders import power
from app.powerup import queries
from app.powerup.forms import BiasForm, MainsForm, bias_form
from app.powerup.models import PowerUpRun
from app.powerup.rounds import verdict_of
from app.powerup.rules.course import Go, go_of
from app.powerup.rules.items import Biased, split
from app.powerup.rules.mains import Asked, MainsFound, load_of
from app.powerup.rules.output import IMBALANCE, PRACTICE, WHILE_SETTING, One, OutputFound, Round, assess, limits_from_memory
from app.powerup.rules.soak import due_moments
from app.powerup.rules.steps import STEPS
from app.powerup.service import bias as bias_service
from app.powerup.views.common import bp, load_run, meter, meters, said_of
from app.shop.queries import the_shop

SAID = {"anode_v": "The anode voltage", "cathode_v": "The cathode voltage", "screen_v": "The screen voltage",
        "cathode_a": "A cathode current", "screen_a": "A screen current"}
FIELDS = ("heaters", "heater_winding_a", "rectifier", "ht_vrms", "source_ohm", "reservoir_farad", "ht_a", "rated_va", "no_load_a",
          "no_load_source")
SUPPLY_FIELDS = {"secondary_vrms": "ht_vrms", "load_a": "ht_a", "va": "ht_a"}  # the sum's names and the form's


@bp.route("/bias/<int:step_id>", methods=["GET", "POST"])
@may(May.TEST)
def bias(order_id: int, step_id: int) -> Response | str:
    """Read every output valve in one round."""
    order, run = load_run(order_id)
    if step_id not in bias_service.STEPS_WITH_BIAS:
        raise NotFound("This step has no bias readings.")
    form = _form(run)
    only = "calculate" in request.form
    found, wrong = _try(run, form) if request.method == "POST" else (None, "")

    def act(saved: Saved) -> Response:
        typed = form.given(meter(form.volts.data, "volts"), meter(form.amperes.data, "amperes"))
        entry = bias_service.record_round(run, step_id, typed, by=actor(), now=clock.now())
        verdict, why = verdict_of(run, entry)
        go = go_of(verdict, from_memory=bool(limits_from_memory(run.valve)))
        flash(f"Bias readings recorded: {why or go.value}", "saved" if go is Go.GO else "refused")
        return saved("powerup.bias", order_id=order_id, step_id=step_id)

    answer = None if only else save_or_reshow(form, act)
    if answer is not None:
        return answer
    where = queries.where(run.id)
    soak = queries.soak_of(run)
    return render_template(
        "powerup/bias.html", order=order, run=run, form=form, step=STEPS[step_id], found=found, wrong=wrong,
        state=where.states[step_id], waits=where.waits(step_id), powered=power.powered(order_id), fixed=run.biased is Biased.FIXED,
        rounds=said_of(where.run, step_id),
        setting=WHILE_SETTING, imbalance=IMBALANCE, practice=PRACTICE, soak=soak,
        moments=due_moments(soak.needed_minutes) if soak and step_id == 12 else (), has_errors=form.has_errors)


@bp.get("/bias/<int:step_id>/answer")
@may(May.TEST)
def bias_answer(order_id: int, step_id: int) -> str:
    """What is typed so far comes to; nothing is kept."""
    _, run = load_run(order_id)
    form = bias_form(split(run.marks))(request.args)
    _offer(form)
    found, wrong = _try(run, form)
    return render_template("powerup/_bias_answer.html", found=found, wrong=wrong, run=run)


def _form(run: PowerUpRun) -> BiasForm:
    last = next(iter(queries.rounds_of(queries.where(run.id).run)), None)
    start: dict[str, Any] = {}
    if last is not None and last.round is not None:
        kept = last.round
        start = {"volts": kept.anode.instrument_id, "amperes": kept.valves[0].current.instrument_id, "cold_end": kept.cold_end_v,
                 "hot_end": kept.hot_end_v, "load_aa": kept.load_aa_ohm}
    form = read_form(bias_form(split(run.marks)), **start)
    _offer(form)
    return form


def _offer(form: BiasForm) -> None:
    form.offer(*meters())


def _try(run: PowerUpRun, form: BiasForm) -> tuple[OutputFound | None, str]:
    """What the typed figures come to, or why they do not yet; the service reads them once more when they are kept."""
    try:
        return assess(_round(run, form)), ""
    except ElectricsError as wrong:
        return None, f"{SAID.get(wrong.argument, 'A figure')} must be {wrong.allowed}."
    except BadInput as wrong:
        return None, wrong.words


def _round(run: PowerUpRun, form: BiasForm) -> Round:
    today = measuring.today(clock.now())
    volts, amperes = (measuring.find_instrument(field.data) if field.data else None for field in (form.volts, form.amperes))

    def figure(field: Any, unit: str) -> float | None:
        return float(parse(field.data, unit=unit)) if (field.data or "").strip() else None

    def unsure(value: float | None, quantity: Quantity, of: Instrument | None) -> float | None:
        if value is None or of is None or not of.standing(today).counts:
            return None  # an instrument out of date proves nothing
        stated = statement_for(value, quantity, (one.statement for one in of.stated))
        return expanded(value, stated) if stated is not None else None

    anode = figure(form.anode, "V")
    if anode is None:
        raise BadInput("Enter the anode voltage and every cathode current.")
    ones = []
    for mark, current_field, screen_field in form.valves():
        current, screen = figure(current_field, "A"), figure(screen_field, "A")
        if current is None:
            raise BadInput(f"Enter the cathode current of {mark}.")
        ones.append(One(mark, current, unsure(current, Quantity.AMP_DC, amperes), screen,
                        unsure(screen, Quantity.AMP_DC, amperes)))
    cathode = figure(form.cathode, "V")
    return Round(run.valve, tuple(ones), anode, unsure(anode, Quantity.VOLT_DC, volts), figure(form.screen, "V"),
                 cathode or 0.0, figure(form.grid, "V"), (form.cold_end.data, form.hot_end.data), form.load_aa.data,
                 unsure(cathode, Quantity.VOLT_DC, volts) or 0.0)


@bp.route("/mains", methods=["GET", "POST"])
@may(May.TEST)
def mains(order_id: int) -> Response | str:
    """Heaters, HT and the whole against the transformer, primary current, and the fuse that it comes to."""
    order, run = load_run(order_id)
    kept, shop = queries.mains_of(run.id), the_shop()
    start = {name: getattr(kept, name) for name in FIELDS} if kept else {"rectifier": "bridge"}
    form: MainsForm = read_form(MainsForm, **start)
    region = "UL" if shop.mains_v < 150 else "IEC"

    def asked() -> Asked:
        return form.asked(run.heater_v, shop.mains_v, shop.mains_hz, region)

    found: MainsFound | None = None
    if request.method == "POST" and form.validate() or kept is not None and request.method == "GET":
        try:
            found = load_of(asked())
        except ElectricsError as wrong:
            field = SUPPLY_FIELDS.get(wrong.argument, wrong.argument)
            form.add_error(BadInput(f"Must be {wrong.allowed}.", field if field in FIELDS else "heaters"))

    def act(saved: Saved) -> Response:
        bias_service.keep_mains(run, asked(), no_load_source=form.no_load_source.data or "", by=actor(), now=clock.now())
        flash("Mains transformer saved.", "saved")
        return saved("powerup.mains", order_id=order_id)

    if found is not None and "calculate" not in request.form and (answer := save_or_reshow(form, act)) is not None:
        return answer
    return render_template("powerup/mains.html", order=order, run=run, form=form, found=found, kept=kept, mains_v=shop.mains_v,
                           has_errors=form.has_errors)
