"""Board sheets: the table of a board's positions, entered in runs."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, allow, may
from app.access.rules import May
from app.boards import queries, service
from app.boards.forms import BoardForm, PositionForm
from app.boards.models import Board, BoardPosition
from app.boards.rules import PartKind, next_reference, totals
from app.db import session
from app.errors import BadInput, NotFound
from app.kernel.form_fields import read_form
from app.kernel.saving import check_fresh, saving
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.photos import pins
from app.photos import queries as photos
from app.photos.models import Photo

bp = Blueprint("boards", __name__, url_prefix="/orders/<int:order_id>/boards")
pins.register(pins.Kind("board_position", "board position", "boards.position", "position_id", ""))


@bp.route("/new", methods=["GET", "POST"])
@may(May.WORK)
def new_board(order_id: int) -> Response | str:
    order = load_order(order_id, May.WORK)
    form = read_form(BoardForm, meter_percent=1.0)
    form.offer(list(photos.of_order(order_id)))
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                board = service.record_board(order, form.facts(), by=actor(), now=clock.now())
                session().flush()
                return saved("boards.board", order_id=order_id, board_id=board.id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("boards/board_edit.html", order=order, board=None, form=form, has_errors=form.has_errors)


@bp.route("/<int:board_id>/edit", methods=["GET", "POST"])
@may(May.WORK)
def edit_board(order_id: int, board_id: int) -> Response | str:
    order, board = load_board(order_id, board_id, May.WORK)
    form = read_form(BoardForm, **BoardForm.stored(board))
    form.offer(list(photos.of_order(order_id)))
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                check_fresh(board, form)
                service.change_board(board, order, form.facts(), by=actor(), now=clock.now())
                flash("Saved.", "saved")
                return saved("boards.board", order_id=order_id, board_id=board_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("boards/board_edit.html", order=order, board=board, form=form, has_errors=form.has_errors)


@bp.route("/<int:board_id>", methods=["GET", "POST"])
@may(May.SEE)
def board(order_id: int, board_id: int) -> Response | str:
    """The sheet, and the next position to enter."""
    order, found = load_board(order_id, board_id)
    last = found.positions[-1] if found.positions else None
    form = read_form(PositionForm, **_next_after(last))
    if request.method == "POST":
        allow(May.WORK)
        if form.validate():
            try:
                with saving() as saved:
                    position = service.record_position(found, order, form.facts(), by=actor(), now=clock.now())
                    _pin(position, found, form)
                    flash(f"{position.reference} is on the sheet.", "saved")
                    return saved("boards.board", order_id=order_id, board_id=board_id, _anchor="next")
            except BadInput as wrong:
                form.add_error(wrong)
    return _show(order, found, None, form)


@bp.route("/positions/<int:position_id>", methods=["GET", "POST"])
@may(May.SEE)
def position(order_id: int, position_id: int) -> Response | str:
    """One position, measured and decided."""
    order, found = load_position(order_id, position_id)
    pinned = pins.of_record("board_position", found.id)
    place = {"pin_x": pinned[0].x, "pin_y": pinned[0].y} if pinned else {}
    form = read_form(PositionForm, **PositionForm.stored(found), **place)
    if request.method == "POST":
        allow(May.WORK)
        if form.validate():
            try:
                with saving() as saved:
                    check_fresh(found)
                    service.change_position(found, order, form.facts(), by=actor(), now=clock.now())
                    _pin(found, found.board, form)
                    flash(f"{found.reference} is saved.", "saved")
                    return saved("boards.board", order_id=order_id, board_id=found.board_id,
                                 _anchor=f"position-{found.id}")
            except BadInput as wrong:
                form.add_error(wrong)
    return _show(order, found.board, found, form)


def load_board(order_id: int, board_id: int, what: May = May.SEE) -> tuple[RepairOrder, Board]:
    """The one way for a view to come by a board: it belongs to this order."""
    order = load_order(order_id, what)
    found = queries.find_board(board_id)
    if found is None or found.order_id != order.id:
        raise NotFound("There is no board sheet at this address.")
    return order, found


def load_position(order_id: int, position_id: int) -> tuple[RepairOrder, BoardPosition]:
    """The one way for a view to come by a position."""
    order = load_order(order_id)
    found = queries.find_position(position_id)
    if found is None or found.order_id != order.id:
        raise NotFound("There is no position at this address.")
    return order, found


def _next_after(last: BoardPosition | None) -> dict[str, Any]:
    """A run of entries goes on where it stopped: next reference, same kind, same tolerance."""
    if last is None:
        return {"reference": "R1", "kind": PartKind.RESISTOR, "tolerance": "10"}
    tolerance = "" if last.tolerance is None else f"{last.tolerance * 100:g}"
    return {"reference": next_reference(last.reference), "kind": last.kind, "tolerance": tolerance}


def _photo(board: Board) -> Photo | None:
    found = photos.find(board.photo_id) if board.photo_id else None
    return found if found is not None and found.struck_at is None else None


def _pin(position: BoardPosition, board: Board, form: PositionForm) -> None:
    photo = _photo(board)
    if photo is not None and form.pin_x.data is not None:
        session().flush()
        pins.drop(photo, "board_position", position.id, position.reference, x=form.pin_x.data, y=form.pin_y.data, by=actor(),
                  now=clock.now())


def _show(order: RepairOrder, board: Board, position: BoardPosition | None, form: PositionForm) -> str:
    photo = _photo(board)
    return render_template(
        "boards/board.html", order=order, board=board, position=position, form=form, photo=photo,
        pins_here=pins.on_photo(photo.id) if photo else (), url_of=pins.url_of,
        totals=totals((one.fate, one.reason) for one in board.positions), has_errors=form.has_errors)
