"""Add the search index, and indexes for the questions that grow with the shop.

The table `search_entry` stays empty here; after the migration every record is described once (app/search/index.py), and the
columns `find_text` that it replaces go. They are dropped by ALTER TABLE, not by a rebuild, which would lose the tables' CHECKs.
"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

NEW = (
    ("finding_wire", ["order_id"]), ("found_object", ["removal_id"]), ("lost_piece", ["removal_id"]),
    ("proof_reading", ["reading_id"]), ("quarantine", ["order_id"]), ("repair_order", ["ended_at"]), ("sign_in", ["person_id"]),
)
OPEN = sa.text("ended_as IS NULL")


def upgrade() -> None:
    op.create_table(
        "search_entry",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("record_id", sa.Integer(), nullable=False),
        sa.Column("order_id", sa.Integer(), nullable=True),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["order_id"], ["repair_order.id"], name=op.f("fk_search_entry_order_id_repair_order")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_search_entry")),
    )
    for table in ("amp", "customer"):
        op.drop_column(table, "find_text")
    for table, columns in NEW:
        op.create_index(op.f(f"ix_{table}_{'_'.join(columns)}"), table, columns)
    op.create_index("ix_repair_order_open", "repair_order", ["promised_on", "number"], sqlite_where=OPEN, postgresql_where=OPEN)
    op.drop_index(op.f("ix_journal_entry_order_id"), "journal_entry")
    op.create_index("ix_journal_entry_order", "journal_entry", ["order_id", "seq"])
    op.drop_index(op.f("ix_listed_part_number"), "listed_part")
    op.create_index("ix_listed_part_number_supplier", "listed_part", ["number", "supplier"])
