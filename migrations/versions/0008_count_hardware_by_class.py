"""Count hardware by its class: kind, thread, length, head and finish. What was counted by a name is a class with that kind alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime

import sqlalchemy as sa
from alembic import op

from app.db import UtcTime
from migrations import steps

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

NUMBERS = sa.table("hardware_class", *(sa.column(name) for name in ("id", "kind", "label", "made_by")), sa.column("made_at", UtcTime))
REMOVAL = sa.table("removal", sa.column("id"), *(sa.column(name, sa.JSON) for name in ("stack", "fasteners", "lacked")))
CLOSURE = sa.table("closure_count", sa.column("id"), sa.column("left", sa.JSON), sa.column("open", sa.JSON))
HANDOVER = sa.table("bench_handover", sa.column("id"), sa.column("counted", sa.JSON), sa.column("open", sa.JSON))
SINGLE = ("piece_entry", "found_object", "lost_piece")  # one piece, or several of one class, a row
CAPTIVE = " (captive)"


def upgrade() -> None:
    _add()
    classes = _classes()
    _removals(classes)
    _counts(classes)
    for table in SINGLE:
        told = sa.table(table, sa.column("id"), sa.column("piece"), sa.column("hardware_class_id"))
        for key, piece in _rows(sa.select(told.c.id, told.c.piece)):
            _run(told.update().where(told.c.id == key).values(hardware_class_id=classes[_fold(piece)]))
        steps.never_empty(table, "hardware_class_id")
    _drop()


def _fold(text: str) -> str:
    return " ".join(text.split()).lower()


def _rows(asked: sa.Select[tuple[object, ...]]) -> list[tuple[object, ...]]:
    return [tuple(row) for row in op.get_bind().execute(asked)]


def _run(statement: sa.Executable) -> None:
    op.get_bind().execute(statement)


def _names() -> Iterable[str]:
    """Every name of a class that a row counts, and every line of a stack that could be read as more than a kind."""
    for _, stack, fasteners, lacked in _rows(sa.select(REMOVAL)):
        yield from (*fasteners, *lacked)
        yield from (piece for piece in stack if any(map(str.isdigit, piece)) and " " in piece and not piece.endswith(CAPTIVE))
    for table in (CLOSURE, HANDOVER):
        for _, one, other in _rows(sa.select(table)):
            yield from (*one, *other)
    for table in SINGLE:
        told = sa.table(table, sa.column("piece"))
        yield from (piece for (piece,) in _rows(sa.select(told.c.piece)))


def _classes() -> dict[str, int]:
    """Name in small letters → id of the class that was made for it."""
    made: dict[str, int] = {}
    for name in _names():
        if _fold(name) not in made:
            made[_fold(name)] = len(made) + 1
    now = datetime.now(UTC)
    for name, key in made.items():
        _run(NUMBERS.insert().values(kind=name, label=name, made_at=now, made_by="Tagstrip"))
        made[name] = op.get_bind().scalar(sa.select(NUMBERS.c.id).where(NUMBERS.c.label == name)) or key
    return made


def _by_class(counts: Mapping[str, int] | list[str], classes: Mapping[str, int]) -> dict[int, int]:
    """Class → count; two spellings of one name are one class. A bare list of names counts one of each."""
    found: dict[int, int] = {}
    for name, count in (Counter(counts) if isinstance(counts, list) else counts).items():
        found[classes[_fold(name)]] = found.get(classes[_fold(name)], 0) + count
    return found


def _removals(classes: Mapping[str, int]) -> None:
    piece = sa.table("removal_piece", *(sa.column(name) for name in ("removal_id", "use", "hardware_class_id", "count")))
    for key, _, fasteners, lacked in _rows(sa.select(REMOVAL)):
        for use, counts in (("loose", fasteners), ("lacking", lacked)):
            for kind, count in _by_class(counts, classes).items():
                _run(piece.insert().values(removal_id=key, use=use, hardware_class_id=kind, count=count))


def _counts(classes: Mapping[str, int]) -> None:
    """What was left at a closure or counted at a handover, and what the ledger held open of it."""
    piece = sa.table("closure_count_piece", *(sa.column(n) for n in ("closure_count_id", "hardware_class_id", "left", "open")))
    for key, left, open_ in _rows(sa.select(CLOSURE)):
        lying, book = _by_class(left, classes), _by_class(open_, classes)
        for kind in dict.fromkeys((*book, *lying)):
            _run(piece.insert().values(closure_count_id=key, hardware_class_id=kind, left=lying.get(kind, 0), open=book.get(kind)))
    piece = sa.table("bench_handover_piece", *(sa.column(n) for n in ("bench_handover_id", "hardware_class_id", "counted", "open")))
    for key, counted, open_ in _rows(sa.select(HANDOVER)):
        found, book = _by_class(counted, classes), _by_class(open_, classes)
        for kind in dict.fromkeys((*book, *found)):
            _run(piece.insert().values(bench_handover_id=key, hardware_class_id=kind, counted=found.get(kind, 0),
                                       open=book.get(kind, 0)))


def _add() -> None:
    op.create_table("hardware_class",
    sa.Column("id", sa.Integer(), nullable=False),
    sa.Column("kind", sa.Text(), nullable=False),
    sa.Column("thread", sa.Text(), server_default="", nullable=False),
    sa.Column("length", sa.Text(), server_default="", nullable=False),
    sa.Column("head", sa.Text(), server_default="", nullable=False),
    sa.Column("finish", sa.Text(), server_default="", nullable=False),
    sa.Column("label", sa.Text(), nullable=False),
    sa.Column("made_at", UtcTime(), nullable=False),
    sa.Column("made_by", sa.Text(), nullable=False),
    sa.CheckConstraint("kind <> ''", name=op.f("ck_hardware_class_has_kind")),
    sa.PrimaryKeyConstraint("id", name=op.f("pk_hardware_class")),
    sa.UniqueConstraint("kind", "thread", "length", "head", "finish", name=op.f("uq_hardware_class_kind_thread_length_head_finish")),
    sa.UniqueConstraint("label", name=op.f("uq_hardware_class_label"))
    )
    op.create_table("removal_piece",
    sa.Column("id", sa.Integer(), nullable=False),
    sa.Column("removal_id", sa.Integer(), nullable=False),
    sa.Column("use", sa.Enum("loose", "lacking", name="pieceuse", native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column("hardware_class_id", sa.Integer(), nullable=False),
    sa.Column("count", sa.Integer(), nullable=False),
    sa.CheckConstraint("count >= 0", name=op.f("ck_removal_piece_count_not_negative")),
    sa.ForeignKeyConstraint(["hardware_class_id"], ["hardware_class.id"], name=op.f("fk_removal_piece_hardware_class_id_hardware_class")),
    sa.ForeignKeyConstraint(["removal_id"], ["removal.id"], name=op.f("fk_removal_piece_removal_id_removal")),
    sa.PrimaryKeyConstraint("id", name=op.f("pk_removal_piece")),
    sa.UniqueConstraint("removal_id", "use", "hardware_class_id", name=op.f("uq_removal_piece_removal_id_use_hardware_class_id"))
    )
    with op.batch_alter_table("removal_piece") as batch:
        batch.create_index(batch.f("ix_removal_piece_hardware_class_id"), ["hardware_class_id"], unique=False)
    op.create_table("closure_count_piece",
    sa.Column("id", sa.Integer(), nullable=False),
    sa.Column("closure_count_id", sa.Integer(), nullable=False),
    sa.Column("hardware_class_id", sa.Integer(), nullable=False),
    sa.Column("left", sa.Integer(), server_default="0", nullable=False),
    sa.Column("open", sa.Integer(), nullable=True),
    sa.CheckConstraint('"left" >= 0', name=op.f("ck_closure_count_piece_left_not_negative")),
    sa.ForeignKeyConstraint(["closure_count_id"], ["closure_count.id"], name=op.f("fk_closure_count_piece_closure_count_id_closure_count")),
    sa.ForeignKeyConstraint(["hardware_class_id"], ["hardware_class.id"], name=op.f("fk_closure_count_piece_hardware_class_id_hardware_class")),
    sa.PrimaryKeyConstraint("id", name=op.f("pk_closure_count_piece")),
    sa.UniqueConstraint("closure_count_id", "hardware_class_id", name=op.f("uq_closure_count_piece_closure_count_id_hardware_class_id"))
    )
    with op.batch_alter_table("closure_count_piece") as batch:
        batch.create_index(batch.f("ix_closure_count_piece_hardware_class_id"), ["hardware_class_id"], unique=False)
    op.create_table("bench_handover_piece",
    sa.Column("id", sa.Integer(), nullable=False),
    sa.Column("bench_handover_id", sa.Integer(), nullable=False),
    sa.Column("hardware_class_id", sa.Integer(), nullable=False),
    sa.Column("counted", sa.Integer(), server_default="0", nullable=False),
    sa.Column("open", sa.Integer(), server_default="0", nullable=False),
    sa.CheckConstraint("counted >= 0", name=op.f("ck_bench_handover_piece_counted_not_negative")),
    sa.ForeignKeyConstraint(["bench_handover_id"], ["bench_handover.id"], name=op.f("fk_bench_handover_piece_bench_handover_id_bench_handover")),
    sa.ForeignKeyConstraint(["hardware_class_id"], ["hardware_class.id"], name=op.f("fk_bench_handover_piece_hardware_class_id_hardware_class")),
    sa.PrimaryKeyConstraint("id", name=op.f("pk_bench_handover_piece")),
    sa.UniqueConstraint("bench_handover_id", "hardware_class_id", name=op.f("uq_bench_handover_piece_bench_handover_id_hardware_class_id"))
    )
    with op.batch_alter_table("bench_handover_piece") as batch:
        batch.create_index(batch.f("ix_bench_handover_piece_hardware_class_id"), ["hardware_class_id"], unique=False)
    with op.batch_alter_table("found_object") as batch:
        batch.add_column(sa.Column("hardware_class_id", sa.Integer(), nullable=True))
        batch.create_index(batch.f("ix_found_object_hardware_class_id"), ["hardware_class_id"], unique=False)
        batch.create_foreign_key(batch.f("fk_found_object_hardware_class_id_hardware_class"), "hardware_class", ["hardware_class_id"], ["id"])
    with op.batch_alter_table("lost_piece") as batch:
        batch.add_column(sa.Column("hardware_class_id", sa.Integer(), nullable=True))
        batch.create_index(batch.f("ix_lost_piece_hardware_class_id"), ["hardware_class_id"], unique=False)
        batch.create_foreign_key(batch.f("fk_lost_piece_hardware_class_id_hardware_class"), "hardware_class", ["hardware_class_id"], ["id"])
    with op.batch_alter_table("piece_entry") as batch:
        batch.add_column(sa.Column("hardware_class_id", sa.Integer(), nullable=True))
        batch.create_index(batch.f("ix_piece_entry_hardware_class_id"), ["hardware_class_id"], unique=False)
        batch.create_foreign_key(batch.f("fk_piece_entry_hardware_class_id_hardware_class"), "hardware_class", ["hardware_class_id"], ["id"])


def _drop() -> None:
    with op.batch_alter_table("bench_handover") as batch:
        batch.drop_column("counted")
        batch.drop_column("open")
    with op.batch_alter_table("closure_count") as batch:
        batch.drop_column("left")
        batch.drop_column("open")
    for table in SINGLE:
        with op.batch_alter_table(table) as batch:
            batch.drop_constraint(batch.f(f"ck_{table}_has_piece"), type_="check")
            batch.drop_column("piece")
    with op.batch_alter_table("removal") as batch:
        batch.drop_column("fasteners")
        batch.drop_column("lacked")
