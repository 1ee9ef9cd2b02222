"""Say what a tester worked with

The current through an earth and the volts on an insulation are asked for and kept; a profile says the least of either.
"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

# As the version that brought this in knows them: ampere by the regime that computes the limit.
LEAST_BOND_A = {"vde_0701_0702": 0.2, "en_50678": 0.2, "en_50699": 0.2, "iet": 0.02, "as_nzs_3760": 0.1, "as_nzs_5762": 0.1}


def upgrade() -> None:
    for table, column in (("profile_step", "least_level"), ("safety_step", "least_level"), ("step_outcome", "level")):
        with op.batch_alter_table(table) as batch:
            batch.add_column(sa.Column(column, sa.Double(), nullable=True))
    op.execute("UPDATE profile_step SET least_level = 500 WHERE kind = 'insulation'")
    for rule, least in LEAST_BOND_A.items():
        op.get_bind().execute(sa.text("UPDATE profile_step SET least_level = :least WHERE kind = 'protective earth' AND rule = :rule"),
                              {"least": least, "rule": rule})
    op.get_bind().execute(
        sa.text("UPDATE profile_step SET question = :words WHERE kind = 'protective earth' AND rule = 'ul'"),
        {"words": "From the earth contact of the inlet, or the lead’s end at the chassis, to each bare metal part; the mains lead is "
                  "not in this reading."})
    op.get_bind().execute(
        sa.text("UPDATE profile_step SET question = :words WHERE kind = 'protective earth' AND rule <> 'ul' AND rule <> ''"),
        {"words": "From the plug’s earth pin to each bare metal part; the mains lead is in this reading."})
