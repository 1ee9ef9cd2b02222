"""Say when the chassis was opened

A safety test or soak run asked the journal whether the amp was opened after it began. Now each opening is a row. What the
journal says of the past is carried over once, and `started_seq` becomes the newest opening before that entry.
"""

import json

import sqlalchemy as sa
from alembic import op

import app.db

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

# What the version before counted as an act with the chassis open.
OPENING = ("made_safe:recorded", "removal:recorded", "removal:reopened", "hardware:issued", "step:done", "step:undone",
           "step:forced", "closure:counted", "board:recorded", "board:position_recorded", "part:fitted", "finding:acted_on",
           "lost_piece:found")
BEFORE_THE_TEST = ("Intake", "Teardown", "Quote", "Parts", "Reassembly")


def upgrade() -> None:
    op.create_table(
        "chassis_opening",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("at", app.db.UtcTime(), nullable=False),
        sa.Column("by_name", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.CheckConstraint("why <> ''", name=op.f("ck_chassis_opening_says_why")),
        sa.ForeignKeyConstraint(["order_id"], ["repair_order.id"], name=op.f("fk_chassis_opening_order_id_repair_order")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_chassis_opening")),
    )
    with op.batch_alter_table("chassis_opening") as batch:
        batch.create_index(batch.f("ix_chassis_opening_order_id"), ["order_id"], unique=False)
    for table in ("safety_test", "soak_run"):
        with op.batch_alter_table(table) as batch:
            batch.add_column(sa.Column("last_opening_id", sa.Integer(), nullable=True))
            batch.create_foreign_key(batch.f(f"fk_{table}_last_opening_id_chassis_opening"), "chassis_opening",
                                     ["last_opening_id"], ["id"])
    _carry_over()
    for table in ("safety_test", "soak_run"):
        with op.batch_alter_table(table) as batch:
            batch.drop_column("started_seq")


def _carry_over() -> None:
    connection = op.get_bind()
    opening = sa.table("chassis_opening", sa.column("order_id"), sa.column("at", app.db.UtcTime()), sa.column("by_name"),
                       sa.column("why"), sa.column("id"))
    journal = sa.table("journal_entry", sa.column("seq"), sa.column("at", app.db.UtcTime()), sa.column("person_name"),
                       sa.column("event"), sa.column("order_id"), sa.column("after"))
    told = connection.execute(sa.select(journal).where(journal.c.order_id.is_not(None), journal.c.event.in_(
        (*OPENING, "removal:ended", "order:moved_back"))).order_by(journal.c.seq)).mappings().all()
    seqs: dict[int, list[tuple[int, int]]] = {}
    number = 0
    for entry in told:
        why = _why(entry["event"], json.loads(entry["after"]))
        if not why:
            continue
        number += 1
        connection.execute(opening.insert().values(id=number, order_id=entry["order_id"], at=entry["at"],
                                                   by_name=entry["person_name"], why=why))
        seqs.setdefault(entry["order_id"], []).append((entry["seq"], number))
    if connection.dialect.name == "postgresql" and number:
        connection.execute(sa.text("SELECT setval(pg_get_serial_sequence('chassis_opening', 'id'), :last)"), {"last": number})
    for table in ("safety_test", "soak_run"):
        begun = sa.table(table, sa.column("id"), sa.column("order_id"), sa.column("started_seq"), sa.column("last_opening_id"))
        for row in connection.execute(sa.select(begun)).mappings().all():
            before = [opened for seq, opened in seqs.get(row["order_id"], []) if seq <= row["started_seq"]]
            if before:
                connection.execute(begun.update().where(begun.c.id == row["id"]).values(last_opening_id=before[-1]))


def _why(event: str, after: dict[str, object]) -> str:
    if event == "order:moved_back":
        stage = str(after.get("stage", ""))
        return f"the order went back to {stage.lower()}" if stage in BEFORE_THE_TEST else ""
    if event == "removal:ended":
        ended = str(after.get("ended", ""))
        return f"a removal was {ended}" if ended.startswith(("refitted", "replaced")) else ""
    return "“" + event.replace(":", " ").replace("_", " ") + "” was recorded"
