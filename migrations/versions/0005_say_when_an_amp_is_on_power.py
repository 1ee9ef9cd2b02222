"""Say when an amp is on power

A soak run that is on when the shop is carried forward is power that is on.
"""

import sqlalchemy as sa
from alembic import op

import app.db

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table('power_up',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('since', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.Column('why', sa.Text(), nullable=False),
    sa.Column('reason', sa.Text(), server_default='', nullable=False),
    sa.Column('ended_at', app.db.UtcTime(), nullable=True),
    sa.Column('ended_by', sa.Text(), server_default='', nullable=False),
    sa.CheckConstraint("(ended_at IS NULL) = (ended_by = '')", name=op.f('ck_power_up_ended_by_somebody')),
    sa.CheckConstraint("why <> ''", name=op.f('ck_power_up_says_why')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_power_up_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_power_up'))
    )
    with op.batch_alter_table('power_up', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_power_up_order_id'), ['order_id'], unique=False)
        batch_op.create_index('uq_power_up_one_open', ['order_id'], unique=True, sqlite_where=sa.text('ended_at IS NULL'), postgresql_where=sa.text('ended_at IS NULL'))

    with op.batch_alter_table('made_safe', schema=None) as batch_op:
        batch_op.add_column(sa.Column('last_power_id', sa.Integer(), nullable=True))
        batch_op.create_foreign_key(batch_op.f('fk_made_safe_last_power_id_power_up'), 'power_up', ['last_power_id'], ['id'])

    with op.batch_alter_table('soak_run', schema=None) as batch_op:
        batch_op.add_column(sa.Column('carried_minutes', sa.Integer(), server_default='0', nullable=False))
        batch_op.add_column(sa.Column('interrupted', sa.Text(), server_default='', nullable=False))

    op.execute("INSERT INTO power_up (order_id, since, by_name, why) "
               "SELECT order_id, started_at, started_by, 'soak run' FROM soak_run WHERE ended_at IS NULL")
