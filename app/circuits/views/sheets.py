"""The sheet: the page, how the amp is read, expected against measured, proposals, the drawing."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.circuits import queries
from app.circuits.forms import ConditionsForm, PrintedForm
from app.circuits.rules.blocks import FIELDS, IN_ORDER
from app.circuits.rules.changes import said
from app.circuits.rules.chart import chart
from app.circuits.rules.compare import Row
from app.circuits.rules.drawing import drawn
from app.circuits.rules.proposals import Search, search
from app.circuits.service import points as points_service
from app.circuits.service import sheets as sheets_service
from app.circuits.views.common import bp, load_printed, load_sheet
from app.kernel.form_fields import read_form
from app.kernel.local_forms import counted
from app.kernel.saving import Saved, check_fresh, save_or_reshow, saving
from app.measuring.rules import Verdict, say
from app.orders.loading import load_order


@bp.get("")
@may(May.SEE)
def page(order_id: int) -> str:
    """The blocks with their values and what cannot be known yet; without a sheet, how to begin one."""
    order = load_order(order_id)
    sheet = queries.of_order(order)
    if sheet is None:
        return render_template("circuits/begin.html", order=order, model=queries.last_of_model(order.amp.maker, order.amp.model))
    whole = queries.effective(order, sheet)
    return render_template("circuits/page.html", order=order, sheet_row=sheet, whole=whole, worked=queries.worked(order, sheet),
                           kinds=IN_ORDER, fields=FIELDS, said=said, changed=queries.changed_of(sheet),
                           block_of={one.name: one for one in sheet.shown})


@bp.post("/begin")
@may(May.WORK)
def begin(order_id: int) -> Response:
    """Begin the sheet, from the model's last one where there is one."""
    order = load_order(order_id, May.WORK)
    with saving() as saved:
        made = sheets_service.begin(order, by=actor(), now=clock.now())
        flash(f"The sheet is begun with {counted(len(made.blocks), 'block')}.", "saved")
        return saved("circuits.page", order_id=order_id)


@bp.post("/keep")
@may(May.WORK)
def keep(order_id: int) -> Response:
    """Keep the sheet as the model's."""
    order, sheet = load_sheet(order_id, May.WORK)
    with saving() as saved:
        sheets_service.keep_for_model(sheet, order, by=actor(), now=clock.now())
        flash(f"The next {order.amp.title} begins with this sheet.", "saved")
        return saved("circuits.page", order_id=order_id)


@bp.route("/conditions", methods=["GET", "POST"])
@may(May.WORK)
def conditions(order_id: int) -> Response | str:
    """The mains, the meter, whether the sheet is whole, and which source speaks."""
    order, sheet = load_sheet(order_id, May.WORK)
    form = read_form(ConditionsForm, **ConditionsForm.stored(sheet))

    def act(saved: Saved) -> Response:
        check_fresh(sheet, form)
        sheets_service.change(sheet, order, form.facts(), by=actor(), now=clock.now())
        flash("Saved.", "saved")
        return saved("circuits.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("circuits/conditions.html", order=order, sheet_row=sheet, form=form,
                                                        has_errors=form.has_errors)


@bp.get("/readings")
@may(May.SEE)
def readings(order_id: int) -> str:
    """Every node: expected, read, deviation, verdict, and why; all in one chart."""
    order, sheet = load_sheet(order_id)
    rows = queries.compared(order, sheet)
    return render_template("circuits/readings.html", order=order, sheet_row=sheet, rows=rows, chart=chart(rows),
                           tap=queries.tap_of(queries.effective(order, sheet)), points=queries.points_by_node(order),
                           off=_off(rows), worked=queries.worked(order, sheet))


@bp.post("/points")
@may(May.WORK)
def lay_out(order_id: int) -> Response:
    """Every node as a test point, with what it should read now."""
    order, sheet = load_sheet(order_id, May.WORK)
    with saving() as saved:
        made = points_service.lay_out(order, sheet, by=actor(), now=clock.now())
        flash(f"{counted(len(made), 'test point')} expected as the sheet says. "
              "Readings already taken keep what they were judged by.", "saved")
        return saved("circuits.readings", order_id=order_id)


@bp.route("/printed", methods=["GET", "POST"])
@may(May.WORK)
def printed(order_id: int) -> Response | str:
    """Volts that a schematic prints."""
    order, sheet = load_sheet(order_id, May.WORK)
    form = read_form(PrintedForm, percent=20.0)

    def act(saved: Saved) -> Response:
        made = sheets_service.add_printed(sheet, order, form.facts(), by=actor(), now=clock.now())
        flash(f"{made.node}: printed volts added.", "saved")
        return saved("circuits.printed", order_id=order_id)

    return save_or_reshow(form, act) or render_template(
        "circuits/printed.html", order=order, sheet_row=sheet, form=form, has_errors=form.has_errors,
        nodes=[one.node.name for one in queries.worked(order, sheet).expected if not one.node.ac])


@bp.post("/printed/<int:printed_id>/withdraw")
@may(May.WORK)
def withdraw_printed(order_id: int, printed_id: int) -> Response:
    """They were read wrong, or are of another edition."""
    order, found = load_printed(order_id, printed_id)
    with saving() as saved:
        sheets_service.withdraw_printed(found, order, by=actor(), now=clock.now())
        flash(f"{found.node}: printed volts withdrawn.", "saved")
        return saved("circuits.printed", order_id=order_id)


@bp.get("/faults")
@may(May.SEE)
def faults(order_id: int) -> str:
    """Which fault, or which two, would explain the readings in volts DC that fail."""
    order, sheet = load_sheet(order_id)
    rows = queries.compared(order, sheet)
    off = _off(rows)
    at_rest = [row for row in off if row.unit == "V DC"]
    found = search(queries.effective(order, sheet), sheet.mains_v, queries.read_at(rows), sheet.meter_ohm,
                   tuple(row.node for row in at_rest)) if at_rest else Search(())
    return render_template("circuits/faults.html", order=order, sheet_row=sheet, rows={row.node: row for row in rows}, off=at_rest,
                           alternating=[row for row in off if row.unit == "V AC"], found=found,
                           points=queries.points_by_node(order), seen=_seen(off))


@bp.get("/drawing")
@may(May.SEE)
def drawing(order_id: int) -> str:
    """The whole amp drawn, power at the left, the signal from left to right, with every node's expected volts."""
    order, sheet = load_sheet(order_id)
    whole, worked = queries.effective(order, sheet), queries.worked(order, sheet)
    return render_template("circuits/drawing.html", order=order, sheet_row=sheet, picture=drawn(whole, worked), worked=worked)


def _seen(off: list[Row]) -> str:
    """The readings that fail, as a finding begins with them: what was measured, and what was expected."""
    return "; ".join(f"{row.node} reads {say(row.latest.read.volt, 'V', 4)}, expected {say(row.speaks.now.value, 'V', 4)}"
                     for row in off if row.latest and row.speaks)[:300]


def _off(rows: list[Row]) -> list[Row]:
    """The rows of which the latest reading fails."""
    return [row for row in rows if row.latest is not None and row.latest.verdict is Verdict.FAIL]
