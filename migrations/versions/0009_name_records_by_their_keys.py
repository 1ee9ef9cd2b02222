"""Name records by their keys: removals, places of parts, pins, boards that dry. What names nothing is listed for the owner."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op

from app.db import UtcTime
from migrations.matching import METAL, NOTHING, THROUGH, Found, Order, fold, read

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def _table(name: str, *plain: str, **typed: Any) -> sa.TableClause:
    return sa.table(name, *(sa.column(one) for one in plain), *(sa.column(one, kind) for one, kind in typed.items()))


REMOVAL = _table("removal", "id", "order_id", "mark", "name", "place", "fixed_to", "removed_by", under=sa.JSON, removed_at=UtcTime,
                 struck_at=UtcTime)
PART = _table("part", "id", "order_id", "what", "quantity", "place", "removal_id", "board_position_id", "finding_id")
PIN = _table("photo_pin", "id", "order_id", "photo_id", "kind", "subject_id", "label", "finding_id", "removal_id",
             "board_position_id", "leftover_id")
BAKE = _table("bake_out", "id", "order_id", "finding_id", "board_id", "started_by", started_at=UtcTime)
FINDING = _table("finding", "id", "order_id", "number", "place")
BOARD = _table("board", "id", "order_id", "name")
POSITION = _table("board_position", "id", "order_id", "board_id", "reference")
TIE = _table("removal_tie", "order_id", "removal_id", "to_id", "how", "by_name", at=UtcTime)
HOLD = _table("bake_hold", "order_id", "bake_out_id", "removal_id", "by_name", at=UtcTime)
LEFTOVER = sa.Table("leftover", sa.MetaData(), sa.Column("id", sa.Integer, primary_key=True),
                    *(sa.Column(name) for name in ("order_id", "record_table", "record_id", "title", "told", "text", "why")),
                    sa.Column("found_at", UtcTime))


def upgrade() -> None:
    _add()
    orders = read(_rows(sa.select(*(REMOVAL.c[n] for n in ("order_id", "id", "mark", "name", "place")), REMOVAL.c.struck_at.is_not(None))),
                  _rows(sa.select(BOARD.c.order_id, BOARD.c.id, BOARD.c.name)),
                  _rows(sa.select(POSITION.c.order_id, POSITION.c.id, POSITION.c.reference, BOARD.c.name)
                        .join(BOARD, BOARD.c.id == POSITION.c.board_id)),
                  _rows(sa.select(FINDING.c.order_id, FINDING.c.id, FINDING.c.number)))
    _removals(orders)
    _parts(orders)
    _pins(orders)
    _bake_outs(orders)
    _drop()


def _rows(asked: Any) -> list[Any]:
    return list(op.get_bind().execute(asked))


def _run(statement: sa.Executable) -> Any:
    return op.get_bind().execute(statement)


def _list(row: Any, table: str, title: str, told: str, text: str, why: str) -> int:
    """Put it on the owner's list."""
    made = _run(LEFTOVER.insert().values(order_id=row.order_id, record_table=table, record_id=row.id, title=title, told=told,
                                         text=text, why=why, found_at=datetime.now(UTC)))
    return int(made.inserted_primary_key[0])


def _removals(orders: Mapping[int, Order]) -> None:
    """What it was under, and what it is fixed to where that came off too."""
    for row in _rows(sa.select(REMOVAL).order_by(REMOVAL.c.id)):
        order = orders[row.order_id]
        title = next(one.title for one in order.off if one.id == row.id)
        tied: set[tuple[int, str]] = set()
        told = [("under", "was under", text) for text in row.under]
        if row.fixed_to and fold(row.fixed_to) not in METAL | {row.mark.lower(), row.name.lower()}:
            told.append(("fixed to", "fixed to", row.fixed_to))
        for how, words, text in told:
            found = order.removal(text, own=row.id)
            if found.id and (found.id, how) not in tied:
                tied.add((found.id, how))
                _run(TIE.insert().values(order_id=row.order_id, removal_id=row.id, to_id=found.id, how=how, at=row.removed_at,
                                         by_name=row.removed_by))
            elif not found.id and not (how == "fixed to" and found.why is NOTHING and fold(text) in THROUGH):
                _list(row, "removal", title, words, text or "no words", found.why)


def _parts(orders: Mapping[int, Order]) -> None:
    """The record that a part's place names."""
    for row in _rows(sa.select(PART).order_by(PART.c.id)):
        found = orders[row.order_id].place(row.place) if row.order_id in orders else Found(why=NOTHING)
        if found.id:
            _run(PART.update().where(PART.c.id == row.id).values({f"{found.table}_id": found.id}))
        else:
            _list(row, "part", f"{row.quantity} × {row.what}" if row.quantity > 1 else row.what, "goes to", row.place, found.why)


def _pins(orders: Mapping[int, Order]) -> None:
    """The record that a pin opens: of its kind, of the same repair."""
    tables = {"finding": "finding", "removal": "removal", "position": "board_position"}
    there = {"finding": {(key, number) for number, order in orders.items() for key in order.findings.values()},
             "removal": {(one.id, number) for number, order in orders.items() for one in order.off},
             "position": {(key, number) for number, order in orders.items() for key, _, _ in order.positions}}
    for row in _rows(sa.select(PIN).order_by(PIN.c.id)):
        if (row.subject_id, row.order_id) in there.get(row.kind, ()):
            key = {f"{tables[row.kind]}_id": row.subject_id}
        else:
            key = {"leftover_id": _list(row, "photo_pin", f"pin {row.label} on photo {row.photo_id}", "pinned",
                                        f"{row.kind} {row.label}", f"This repair has no such record ({row.kind} {row.subject_id}).")}
        _run(PIN.update().where(PIN.c.id == row.id).values(key))


def _bake_outs(orders: Mapping[int, Order]) -> None:
    """The sheet of the board that dries, and what waits for it."""
    asked = sa.select(BAKE, FINDING.c.place, FINDING.c.number).join(FINDING, FINDING.c.id == BAKE.c.finding_id)
    for row in _rows(asked.order_by(BAKE.c.id)):
        order = orders[row.order_id]
        board, waiting = order.board(row.place), order.waiting_for(row.place)
        if board.id:
            _run(BAKE.update().where(BAKE.c.id == row.id).values(board_id=board.id))
        for removal in waiting:
            _run(HOLD.insert().values(order_id=row.order_id, bake_out_id=row.id, removal_id=removal, at=row.started_at,
                                      by_name=row.started_by))
        if not board.id and not waiting:
            why = board.why if row.place else "The finding names no place."
            _list(row, "bake_out", f"bake-out of finding {row.number}", "dries", row.place or "no place", why)


def _add() -> None:
    op.create_table("leftover",
    sa.Column("id", sa.Integer(), nullable=False),
    sa.Column("order_id", sa.Integer(), nullable=False),
    sa.Column("record_table", sa.Text(), nullable=False),
    sa.Column("record_id", sa.Integer(), nullable=False),
    sa.Column("title", sa.Text(), nullable=False),
    sa.Column("told", sa.Enum("was under", "fixed to", "goes to", "pinned", "dries", name="told", native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column("text", sa.Text(), nullable=False),
    sa.Column("why", sa.Text(), nullable=False),
    sa.Column("found_at", UtcTime(), nullable=False),
    sa.Column("settled_as", sa.Enum("matched", "set aside", name="settled", native_enum=False, create_constraint=True, length=40), nullable=True),
    sa.Column("settled_words", sa.Text(), server_default="", nullable=False),
    sa.Column("settled_at", UtcTime(), nullable=True),
    sa.Column("settled_by", sa.Text(), server_default="", nullable=False),
    sa.Column("version", sa.Integer(), server_default="1", nullable=False),
    sa.CheckConstraint("(settled_as IS NULL) = (settled_at IS NULL) AND (settled_as IS NULL) = (settled_words = '')", name=op.f("ck_leftover_settled_says_how")),
    sa.CheckConstraint("text <> '' AND why <> ''", name=op.f("ck_leftover_says_what_and_why")),
    sa.ForeignKeyConstraint(["order_id"], ["repair_order.id"], name=op.f("fk_leftover_order_id_repair_order")),
    sa.PrimaryKeyConstraint("id", name=op.f("pk_leftover"))
    )
    with op.batch_alter_table("leftover") as batch:
        batch.create_index(batch.f("ix_leftover_order_id"), ["order_id"], unique=False)
    op.create_table("removal_tie",
    sa.Column("id", sa.Integer(), nullable=False),
    sa.Column("order_id", sa.Integer(), nullable=False),
    sa.Column("removal_id", sa.Integer(), nullable=False),
    sa.Column("to_id", sa.Integer(), nullable=False),
    sa.Column("how", sa.Enum("under", "fixed to", name="tie", native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column("at", UtcTime(), nullable=False),
    sa.Column("by_name", sa.Text(), nullable=False),
    sa.Column("struck_at", UtcTime(), nullable=True),
    sa.CheckConstraint("removal_id <> to_id", name=op.f("ck_removal_tie_two_removals")),
    sa.ForeignKeyConstraint(["order_id"], ["repair_order.id"], name=op.f("fk_removal_tie_order_id_repair_order")),
    sa.ForeignKeyConstraint(["removal_id"], ["removal.id"], name=op.f("fk_removal_tie_removal_id_removal")),
    sa.ForeignKeyConstraint(["to_id"], ["removal.id"], name=op.f("fk_removal_tie_to_id_removal")),
    sa.PrimaryKeyConstraint("id", name=op.f("pk_removal_tie"))
    )
    with op.batch_alter_table("removal_tie") as batch:
        batch.create_index(batch.f("ix_removal_tie_order_id"), ["order_id"], unique=False)
        batch.create_index(batch.f("ix_removal_tie_removal_id"), ["removal_id"], unique=False)
        batch.create_index(batch.f("ix_removal_tie_to_id"), ["to_id"], unique=False)
        batch.create_index("uq_removal_tie_standing", ["removal_id", "to_id", "how"], unique=True, sqlite_where=sa.text("struck_at IS NULL"), postgresql_where=sa.text("struck_at IS NULL"))
    op.create_table("bake_hold",
    sa.Column("id", sa.Integer(), nullable=False),
    sa.Column("order_id", sa.Integer(), nullable=False),
    sa.Column("bake_out_id", sa.Integer(), nullable=False),
    sa.Column("removal_id", sa.Integer(), nullable=False),
    sa.Column("at", UtcTime(), nullable=False),
    sa.Column("by_name", sa.Text(), nullable=False),
    sa.Column("struck_at", UtcTime(), nullable=True),
    sa.ForeignKeyConstraint(["bake_out_id"], ["bake_out.id"], name=op.f("fk_bake_hold_bake_out_id_bake_out")),
    sa.ForeignKeyConstraint(["order_id"], ["repair_order.id"], name=op.f("fk_bake_hold_order_id_repair_order")),
    sa.ForeignKeyConstraint(["removal_id"], ["removal.id"], name=op.f("fk_bake_hold_removal_id_removal")),
    sa.PrimaryKeyConstraint("id", name=op.f("pk_bake_hold"))
    )
    with op.batch_alter_table("bake_hold") as batch:
        batch.create_index(batch.f("ix_bake_hold_order_id"), ["order_id"], unique=False)
        batch.create_index(batch.f("ix_bake_hold_removal_id"), ["removal_id"], unique=False)
        batch.create_index("uq_bake_hold_standing", ["bake_out_id", "removal_id"], unique=True, sqlite_where=sa.text("struck_at IS NULL"), postgresql_where=sa.text("struck_at IS NULL"))
    with op.batch_alter_table("bake_out") as batch:
        batch.add_column(sa.Column("board_id", sa.Integer(), nullable=True))
        batch.create_index(batch.f("ix_bake_out_board_id"), ["board_id"], unique=False)
        batch.create_foreign_key(batch.f("fk_bake_out_board_id_board"), "board", ["board_id"], ["id"])
    with op.batch_alter_table("part") as batch:
        batch.add_column(sa.Column("removal_id", sa.Integer(), nullable=True))
        batch.add_column(sa.Column("board_position_id", sa.Integer(), nullable=True))
        batch.add_column(sa.Column("finding_id", sa.Integer(), nullable=True))
        batch.create_index(batch.f("ix_part_board_position_id"), ["board_position_id"], unique=False)
        batch.create_index(batch.f("ix_part_finding_id"), ["finding_id"], unique=False)
        batch.create_index(batch.f("ix_part_removal_id"), ["removal_id"], unique=False)
        batch.create_foreign_key(batch.f("fk_part_finding_id_finding"), "finding", ["finding_id"], ["id"])
        batch.create_foreign_key(batch.f("fk_part_removal_id_removal"), "removal", ["removal_id"], ["id"])
        batch.create_foreign_key(batch.f("fk_part_board_position_id_board_position"), "board_position", ["board_position_id"], ["id"])
        batch.create_check_constraint(batch.f("ck_part_one_place"), "CASE WHEN removal_id IS NULL THEN 0 ELSE 1 END + CASE WHEN board_position_id IS NULL THEN 0 ELSE 1 END + CASE WHEN finding_id IS NULL THEN 0 ELSE 1 END <= 1")
    with op.batch_alter_table("photo_pin") as batch:
        batch.add_column(sa.Column("finding_id", sa.Integer(), nullable=True))
        batch.add_column(sa.Column("removal_id", sa.Integer(), nullable=True))
        batch.add_column(sa.Column("board_position_id", sa.Integer(), nullable=True))
        batch.add_column(sa.Column("leftover_id", sa.Integer(), nullable=True))
        batch.create_index(batch.f("ix_photo_pin_board_position_id"), ["board_position_id"], unique=False)
        batch.create_index(batch.f("ix_photo_pin_finding_id"), ["finding_id"], unique=False)
        batch.create_index(batch.f("ix_photo_pin_leftover_id"), ["leftover_id"], unique=False)
        batch.create_index(batch.f("ix_photo_pin_removal_id"), ["removal_id"], unique=False)
        batch.create_foreign_key(batch.f("fk_photo_pin_board_position_id_board_position"), "board_position", ["board_position_id"], ["id"])
        batch.create_foreign_key(batch.f("fk_photo_pin_finding_id_finding"), "finding", ["finding_id"], ["id"])
        batch.create_foreign_key(batch.f("fk_photo_pin_leftover_id_leftover"), "leftover", ["leftover_id"], ["id"])
        batch.create_foreign_key(batch.f("fk_photo_pin_removal_id_removal"), "removal", ["removal_id"], ["id"])


def _drop() -> None:
    with op.batch_alter_table("photo_pin") as batch:
        batch.drop_index(batch.f("ix_photo_pin_subject"))
        batch.drop_column("kind")
        batch.drop_column("subject_id")
        batch.create_check_constraint(batch.f("ck_photo_pin_opens_one_record"), "CASE WHEN finding_id IS NULL THEN 0 ELSE 1 END + CASE WHEN removal_id IS NULL THEN 0 ELSE 1 END + CASE WHEN board_position_id IS NULL THEN 0 ELSE 1 END + CASE WHEN leftover_id IS NULL THEN 0 ELSE 1 END = 1")
    with op.batch_alter_table("removal") as batch:
        batch.drop_column("under")
