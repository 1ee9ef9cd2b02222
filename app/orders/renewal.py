"""Keeping each order's standing: whatever a save touches, its orders' standings are renewed in the same transaction.

Nobody has to call anything. A listener on every session notes which rows were written. A row with an `order_id` speaks for its
order, one below such a row for that row's, an amp or a customer for every order that names it; a row of any other table speaks
for the whole house, save those of `NO_ORDER`, on which no gate rests. Before the commit the gates are asked once for each of
these orders. After a change to the house every open order is called into question; a few of those, and of rows whose moment has
passed, are renewed with each write. Until then a page works out what it shows, without writing.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from flask import current_app, g, has_app_context
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import ORMExecuteState, Session, selectinload

from app import clock
from app.db import Base, listen_to_sessions, written_rows
from app.orders.models import OrderStanding, RepairOrder
from app.orders.standing import Standing, calculate, differences, from_row, stored, to_row
from app.request_cache import forget

# Who signed in, forms on their way, what is only offered or only listed.
NO_ORDER = frozenset({"alembic_version", "amp_sheet", "badge", "block_value", "brought_in", "clock_jump", "device", "drawing",
                      "drawing_pin", "enrol_code", "erasure", "file_to_remove", "guesses", "hardware_class", "held_post",
                      "listed_part", "mail_server", "mail_template", "once_key", "order_outlook", "order_standing",
                      "passkey",
                      "password_code", "past_job", "photo_store", "printed_volts", "search_entry", "sheet_block", "shop_logo",
                      "shop_terms", "sign_in", "usual_finding", "usual_point", "work_kind"})
AT_A_TIME = 12  # orders beside the touched ones that one write renews
LONG_AGO = datetime(1970, 1, 1, tzinfo=UTC)  # good until then: called into question
_TOUCHED = "orders touched"
Follow = Callable[[Session, list[int], datetime], None]
_followers: tuple[Follow, ...] = ()


@dataclass
class _Touched:
    """What a transaction has written so far."""

    orders: set[int] = field(default_factory=set)
    rows: dict[str, set[int]] = field(default_factory=dict)  # of tables whose rows lead to orders by a question
    everything: bool = False


@functools.cache
def reach(table: str) -> str:
    """How a row of this table leads to orders: 'none', 'own', 'named', 'below' or 'house'. A new table is of the house."""
    found = Base.metadata.tables.get(table)
    if table in NO_ORDER:
        return "none"
    if table == RepairOrder.__tablename__ or (found is not None and "order_id" in found.columns):
        return "own"
    if table in {key.column.table.name for key in RepairOrder.__table__.foreign_keys}:
        return "named"
    return "below" if _parent(table) is not None else "house"


@functools.cache
def _parent(table: str) -> sa.ForeignKey | None:
    """The key that leads from a row to one of an order, by columns that are never empty."""
    found = Base.metadata.tables.get(table)
    keys = found.foreign_keys if found is not None else ()
    certain = sorted((key for key in keys if not key.parent.nullable and key.column.table is not found),
                     key=lambda key: key.parent.name)
    return next((key for key in certain if reach(key.column.table.name) in ("own", "below")), None)


def _note(current: Session, _context: object) -> None:
    """After a flush: which rows were written."""
    touched: _Touched = current.info.setdefault(_TOUCHED, _Touched())
    for row in written_rows(current):
        _note_row(touched, row)


def _note_row(touched: _Touched, row: Any) -> None:
    table = row.__tablename__
    how = reach(table)
    if how == "own":
        history = None if table == RepairOrder.__tablename__ else sa.inspect(row).attrs.order_id.history
        ids = [row.id] if history is None else [*history.added, *history.unchanged, *history.deleted]
        touched.orders.update(one for one in ids if one is not None)
    if how in ("named", "below") or table == RepairOrder.__tablename__:  # of an order: those that come back after it
        touched.rows.setdefault(table, set()).add(row.id)
    elif how == "house":
        touched.everything = True


def _note_statement(asked: ORMExecuteState) -> None:
    """A statement that writes past the records: the orders of the rows that it picks out, or, if that cannot be told, every one."""
    statement: Any = asked.statement
    table = getattr(statement, "table", None)
    if asked.is_select or (table is None and not _writes(statement)):
        return
    touched: _Touched = asked.session.info.setdefault(_TOUCHED, _Touched())
    how, where = reach(table.name) if table is not None else "house", getattr(statement, "whereclause", None)
    if how == "none" or (how == "named" and asked.is_insert):
        return
    if how == "own" and table is not None and where is not None:
        ids = asked.session.scalars(sa.select(table.c.get("order_id", table.c.id)).where(where))
        touched.orders.update(one for one in ids if one is not None)
    else:
        touched.everything = True


def _writes(statement: Any) -> bool:
    """Whether SQL that is given as text writes."""
    words = str(getattr(statement, "text", "")).split(None, 1)
    return bool(words) and words[0].upper() in ("INSERT", "UPDATE", "DELETE")


def _renew_touched(current: Session) -> None:
    """Before a commit."""
    if not (has_app_context() and g.get("db_session") is current):
        return
    current.flush()
    touched: _Touched = current.info.pop(_TOUCHED, _Touched())
    if touched.everything:
        question(current)
    ids = touched.orders | _led_to(current, touched.rows)
    now = clock.now()
    current.expire_all()
    forget(current)
    renew(current, ids, now)
    for follow in _followers:
        follow(current, sorted(ids), now)
    for order_id in _run_out(current, now, ids):
        try:
            renew(current, [order_id], now)
            for follow in _followers:
                follow(current, [order_id], now)
        except SQLAlchemyError:
            raise  # the transaction itself is broken
        except Exception:
            # It is another order than the one that is saved: its own page says what is wrong, and this save must not fail for it.
            current_app.logger.exception("The standing of order %s cannot be worked out", order_id)


def use(followers: Collection[Follow]) -> None:
    """What else is worked out of an order and kept beside its standing, handed in because the spine knows no room."""
    global _followers  # noqa: PLW0603 - set once, when the application is built
    _followers = tuple(followers)


def question(current: Session) -> None:
    """Call the standing of every open order into question."""
    is_open = sa.select(RepairOrder.id).where(RepairOrder.ended_as.is_(None))
    current.execute(sa.update(OrderStanding.__table__)  # type: ignore[arg-type]
                    .where(OrderStanding.order_id.in_(is_open)).values(good_until=LONG_AGO, turn=OrderStanding.turn + 1))


def renew(current: Session, order_ids: Collection[int], now: datetime) -> int:
    """Work out the standing of these orders and keep it; how many rows that changed."""
    if not order_ids:
        return 0
    found = current.scalars(sa.select(RepairOrder).where(RepairOrder.id.in_(order_ids)).options(
        selectinload(RepairOrder.amp), selectinload(RepairOrder.moves)).order_by(RepairOrder.id)).all()
    there = stored(order_ids)
    fresh = {order.id: calculate(order, now) for order in found}
    return sum(_keep(current, order_id, standing, there.get(order_id)) for order_id, standing in fresh.items())


def _keep(current: Session, order_id: int, standing: Standing, there: Any) -> bool:
    table: Any = OrderStanding.__table__
    if there is None:
        current.execute(sa.insert(table).values(order_id=order_id, turn=1, **to_row(standing)))
        return True
    if not differences(standing, from_row(there)):
        return False
    current.execute(sa.update(table).where(table.c.order_id == order_id).values(turn=there["turn"] + 1, **to_row(standing)))
    return True


def _run_out(current: Session, now: datetime, but: Collection[int]) -> list[int]:
    """A few orders whose rows claim nothing any more, those longest so first."""
    asked = sa.select(OrderStanding.order_id).where(OrderStanding.good_until <= now).order_by(OrderStanding.good_until)
    found = current.scalars(asked.limit(AT_A_TIME + len(but)))
    return [one for one in found if one not in but][:AT_A_TIME]


def _led_to(current: Session, rows: dict[str, set[int]]) -> set[int]:
    """The open orders that these rows lead to."""
    found: set[int] = set()
    for table, ids in rows.items():
        for asked in _questions(table, sorted(ids)):
            found.update(one for one in current.scalars(asked) if one is not None)
    if not found:
        return found
    return set(current.scalars(sa.select(RepairOrder.id).where(RepairOrder.id.in_(found), RepairOrder.ended_as.is_(None))))


def _questions(table: str, ids: Collection[int]) -> Iterable[sa.Select[Any]]:
    if reach(table) == "below":
        yield _up(table).where(Base.metadata.tables[table].c.id.in_(ids))
        return
    for other in Base.metadata.tables.values():
        if reach(other.name) == "own":
            for key in other.foreign_keys:
                if key.column.table.name == table and key.parent.name != "order_id":
                    yield sa.select(other.c.get("order_id", other.c.id)).where(key.parent.in_(ids))


def _up(table: str) -> sa.Select[Any]:
    """From a row below one of an order to the order."""
    here = Base.metadata.tables[table]
    joined: Any = here
    while "order_id" not in here.c:
        key = _parent(here.name)
        if key is None:
            raise LookupError(f"{table} leads to no order")
        joined = joined.join(key.column.table, key.parent == key.column)
        here = key.column.table
    return sa.select(here.c.order_id).select_from(joined)


def _let_go(current: Session) -> None:
    current.info.pop(_TOUCHED, None)


def install() -> None:
    """Listen to every session. Called once, when the application is built; again does nothing."""
    listen_to_sessions(after_flush=_note, do_orm_execute=_note_statement, before_commit=_renew_touched, after_rollback=_let_go)
