"""Store what each order waits for.

Every open order gets a row that claims nothing yet (good until 1970): pages work it out, and the next writes fill it in.
"""

import sqlalchemy as sa
from alembic import op

from app.db import UtcTime

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "order_standing",
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("waits_for", sa.Text(), nullable=False),
        sa.Column("missing", sa.JSON(), nullable=False),
        sa.Column("held", sa.Boolean(), nullable=False),
        sa.Column("do_not_energise", sa.Text(), nullable=False),
        sa.Column("overdue", sa.Boolean(), nullable=False),
        sa.Column("clock_at", UtcTime(), nullable=True),
        sa.Column("clock_text", sa.Text(), nullable=False),
        sa.Column("clock_place", sa.JSON(), nullable=False),
        sa.Column("good_until", UtcTime(), nullable=True),
        sa.Column("turn", sa.Integer(), nullable=False),
        sa.CheckConstraint("turn > 0", name=op.f("ck_order_standing_turn_counts")),
        sa.ForeignKeyConstraint(["order_id"], ["repair_order.id"], name=op.f("fk_order_standing_order_id_repair_order")),
        sa.PrimaryKeyConstraint("order_id", name=op.f("pk_order_standing")),
    )
    op.create_index(op.f("ix_order_standing_good_until"), "order_standing", ["good_until"])
    op.execute("INSERT INTO order_standing (order_id, waits_for, missing, held, do_not_energise, overdue, clock_text, clock_place, "
               "good_until, turn) SELECT id, '', '[]', false, '', false, '', '[]', '1970-01-01 00:00:00.000000', 1 FROM repair_order "
               "WHERE ended_as IS NULL")
