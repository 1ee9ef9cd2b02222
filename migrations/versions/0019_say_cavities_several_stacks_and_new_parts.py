"""Say in which cavity a removal lies and what closes one, several stacks of one body, and what is new.

A removal of before said none of it: it has the one stack that was recorded, and its way back is planned as it was.
"""

import sqlalchemy as sa
from alembic import op

from migrations import steps

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table('removal', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('ck_removal_fate'), type_='check')
        batch_op.drop_constraint(batch_op.f('ck_removal_outcome'), type_='check')
        batch_op.add_column(sa.Column('cavity', sa.Text(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('closes', sa.Text(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('stack_times', sa.Integer(), server_default='1', nullable=False))
        batch_op.add_column(sa.Column('other_stacks', sa.JSON(), nullable=True))

    op.execute("UPDATE removal SET other_stacks = '[]'")
    steps.never_empty("removal", "other_stacks")
    with op.batch_alter_table('removal', schema=None) as batch_op:
        batch_op.create_check_constraint(batch_op.f('ck_removal_fate'),
            "fate IN ('refit', 'replace', 'scrap', 'return_to_customer', 'return_to_stock', 'hold', 'new')")
        batch_op.create_check_constraint(batch_op.f('ck_removal_outcome'),
            "ended_as IN ('refitted', 'replaced', 'scrapped', 'given_back', 'to_stock', 'fitted')")
        batch_op.create_check_constraint(batch_op.f('ck_removal_some_stacks'), 'stack_times > 0')
