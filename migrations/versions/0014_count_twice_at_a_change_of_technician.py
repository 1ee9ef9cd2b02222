"""Count twice at a change of technician, and name more kinds of what comes off.

A change of before had one count: it is settled, and has no second.
"""

import sqlalchemy as sa
from alembic import op

import app.db

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

KINDS = ("part", "panel", "cover", "control", "jack", "jack_isolated", "screw", "bolt", "earth_bolt", "protective_earth",
         "mains_transformer", "mains_lead", "wire", "valve_base", "valve", "output_valve", "valve_rectifier", "retainer", "fuse",
         "fuse_holder", "inlet", "choke", "output_transformer", "tag_board", "printed_board", "screening_box", "can_capacitor",
         "lamp", "standoff", "clamp", "wood_screw", "speaker", "reverb_tank", "chassis")


def upgrade() -> None:
    with op.batch_alter_table("bench_handover") as batch:
        batch.add_column(sa.Column("second_at", app.db.UtcTime(), nullable=True))
        batch.add_column(sa.Column("second_proof", sa.Text(), server_default="", nullable=False))
        batch.add_column(sa.Column("second_note", sa.Text(), server_default="", nullable=False))
        batch.add_column(sa.Column("dropped_at", app.db.UtcTime(), nullable=True))
        batch.add_column(sa.Column("dropped_by", sa.Text(), server_default="", nullable=False))
    op.execute("UPDATE bench_handover SET second_at = at")
    with op.batch_alter_table("bench_handover_piece") as batch:
        batch.add_column(sa.Column("second", sa.Integer(), nullable=True))
        batch.create_check_constraint(batch.f("ck_bench_handover_piece_second_not_negative"), "second IS NULL OR second >= 0")
    with op.batch_alter_table("removal") as batch:
        batch.drop_constraint(batch.f("ck_removal_kind"), type_="check")
        batch.create_check_constraint(batch.f("ck_removal_kind"), f"kind IN ({', '.join(repr(kind) for kind in KINDS)})")
