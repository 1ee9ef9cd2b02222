"""Blocks of the sheet: adding, changing, withdrawing."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, allow, may
from app.access.rules import May
from app.circuits import queries
from app.circuits.forms import WithdrawForm, form_of, stored, suggested
from app.circuits.rules.blocks import Kind
from app.circuits.rules.symbols import symbols_of
from app.circuits.rules.wiring import unknown, wants
from app.circuits.service import blocks as blocks_service
from app.circuits.views.common import bp, load_block, load_sheet
from app.errors import NotFound
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, check_fresh, save_or_reshow


@bp.route("/blocks/new/<kind>", methods=["GET", "POST"])
@may(May.WORK)
def new_block(order_id: int, kind: str) -> Response | str:
    """One more block of a kind, named as its address says."""
    order, sheet = load_sheet(order_id, May.WORK)
    if kind.upper() not in Kind.__members__:
        raise NotFound("There is no such kind of block.")
    which = Kind[kind.upper()]
    form = read_form(form_of(which), **suggested(which, sheet.as_entered))
    form.offer(sheet.as_entered, "")

    def act(saved: Saved) -> Response:
        made = blocks_service.add_block(sheet, order, which, form.name.data, form.given(), by=actor(), now=clock.now())
        flash(f"{made.name} is added.", "saved")
        return saved("circuits.page", order_id=order_id, _anchor=f"block-{made.id}")

    return save_or_reshow(form, act) or render_template(
        "circuits/block.html", order=order, sheet_row=sheet, block=None, kind=which, form=form, has_errors=form.has_errors,
        symbols=symbols_of(which, form.data.get("arrangement") or ""), effective=None, lacks=(), why=())


@bp.route("/blocks/<int:block_id>", methods=["GET", "POST"])
@may(May.SEE)
def block(order_id: int, block_id: int) -> Response | str:
    """One block: its drawing beside its values, and what it still lacks."""
    order, sheet, found = load_block(order_id, block_id)
    form = read_form(form_of(found.kind), **stored(found))
    form.offer(sheet.as_entered, found.name)
    if request.method == "POST":
        allow(May.WORK)

    def act(saved: Saved) -> Response:
        check_fresh(found)
        blocks_service.change_block(found, order, form.name.data, form.given(), by=actor(), now=clock.now())
        flash(f"{found.name} is saved.", "saved")
        return saved("circuits.page", order_id=order_id, _anchor=f"block-{block_id}")

    whole = queries.effective(order, sheet)
    here = whole.block(found.name)
    return save_or_reshow(form, act) or render_template(
        "circuits/block.html", order=order, sheet_row=sheet, block=found, kind=found.kind, form=form, has_errors=form.has_errors,
        symbols=symbols_of(found.kind, found.as_entered.word("arrangement")), effective=here,
        lacks=wants(here, whole) if here else (),
        why=unknown(whole).get(found.name, ()))


@bp.route("/blocks/<int:block_id>/withdraw", methods=["GET", "POST"])
@may(May.WORK)
def withdraw_block(order_id: int, block_id: int) -> Response | str:
    """This amp has no such block."""
    order, _sheet, found = load_block(order_id, block_id, May.WORK)
    form = read_form(WithdrawForm)

    def act(saved: Saved) -> Response:
        check_fresh(found)
        blocks_service.withdraw_block(found, order, reason=form.reason.data, by=actor(), now=clock.now())
        flash(f"{found.name} is withdrawn.", "saved")
        return saved("circuits.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("circuits/withdraw.html", order=order, block=found, form=form,
                                                        has_errors=form.has_errors)
