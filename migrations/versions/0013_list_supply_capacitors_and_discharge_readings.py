"""List the capacitors of the supplies, and keep what was read across each after a discharge.

What version 0.1 recorded stays in made_safe: one reading, of a meter that was not of the register. It shows nothing discharged,
so no standing of before can be relied on.
"""

from datetime import UTC, datetime

import sqlalchemy as sa
from alembic import op

import app.db

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table('supply_list',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('origin', sa.Enum('typed', 'board sheets', 'usual layout', 'earlier repair', name='origin', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('origin_words', sa.Text(), server_default='', nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_supply_list_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_supply_list'))
    )
    with op.batch_alter_table('supply_list', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_supply_list_order_id'), ['order_id'], unique=False)

    op.create_table('discharge_record',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('supply_list_id', sa.Integer(), nullable=False),
    sa.Column('limit_volts', sa.Double(), nullable=False),
    sa.Column('stick_ohm', sa.Double(), nullable=True),
    sa.Column('stick_w', sa.Double(), nullable=True),
    sa.Column('held_s', sa.Double(), nullable=True),
    sa.Column('instrument_id', sa.Integer(), nullable=False),
    sa.Column('instrument_words', sa.Text(), nullable=False),
    sa.Column('due_on', sa.Date(), nullable=True),
    sa.Column('standing', sa.Enum('in date', 'due soon', 'overdue', 'no calibration on record', 'indication only', 'quarantined', name='standing', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('proved_on', sa.Text(), nullable=False),
    sa.Column('proved_before', sa.Boolean(), nullable=False),
    sa.Column('proved_after', sa.Boolean(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.Column('last_power_id', sa.Integer(), nullable=True),
    sa.CheckConstraint("instrument_words <> '' AND proved_on <> ''", name=op.f('ck_discharge_record_says_with_what')),
    sa.CheckConstraint("standing IN ('in date', 'due soon')", name=op.f('ck_discharge_record_instrument_in_date')),
    sa.CheckConstraint('(stick_ohm IS NULL) = (stick_w IS NULL)', name=op.f('ck_discharge_record_stick_says_both')),
    sa.CheckConstraint('COALESCE(stick_ohm, 1) > 0 AND COALESCE(stick_w, 1) > 0 AND COALESCE(held_s, 0) >= 0', name=op.f('ck_discharge_record_stick_sensible')),
    sa.CheckConstraint('limit_volts > 0', name=op.f('ck_discharge_record_has_limit')),
    sa.ForeignKeyConstraint(['instrument_id'], ['instrument.id'], name=op.f('fk_discharge_record_instrument_id_instrument')),
    sa.ForeignKeyConstraint(['last_power_id'], ['power_up.id'], name=op.f('fk_discharge_record_last_power_id_power_up')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_discharge_record_order_id_repair_order')),
    sa.ForeignKeyConstraint(['supply_list_id'], ['supply_list.id'], name=op.f('fk_discharge_record_supply_list_id_supply_list')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_discharge_record'))
    )
    with op.batch_alter_table('discharge_record', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_discharge_record_instrument_id'), ['instrument_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_discharge_record_order_id'), ['order_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_discharge_record_supply_list_id'), ['supply_list_id'], unique=False)

    op.create_table('supply_capacitor',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('supply_list_id', sa.Integer(), nullable=False),
    sa.Column('position', sa.Integer(), nullable=False),
    sa.Column('supply', sa.Enum('HT', 'bias', name='supply', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('name', sa.Text(), nullable=False),
    sa.Column('node', sa.Text(), nullable=False),
    sa.Column('farad', sa.Double(), nullable=False),
    sa.Column('working_v', sa.Double(), nullable=False),
    sa.Column('fed_ohm', sa.Double(), nullable=True),
    sa.CheckConstraint("name <> '' AND node <> ''", name=op.f('ck_supply_capacitor_named')),
    sa.CheckConstraint('farad > 0 AND working_v > 0 AND COALESCE(fed_ohm, 0) >= 0', name=op.f('ck_supply_capacitor_sensible')),
    sa.ForeignKeyConstraint(['supply_list_id'], ['supply_list.id'], name=op.f('fk_supply_capacitor_supply_list_id_supply_list')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_supply_capacitor')),
    sa.UniqueConstraint('supply_list_id', 'name', name=op.f('uq_supply_capacitor_supply_list_id_name')),
    sa.UniqueConstraint('supply_list_id', 'position', name=op.f('uq_supply_capacitor_supply_list_id_position'))
    )
    with op.batch_alter_table('supply_capacitor', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_supply_capacitor_supply_list_id'), ['supply_list_id'], unique=False)

    op.create_table('discharge_reading',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('record_id', sa.Integer(), nullable=False),
    sa.Column('capacitor_id', sa.Integer(), nullable=False),
    sa.Column('typed', sa.Text(), nullable=False),
    sa.Column('value', sa.Double(), nullable=False),
    sa.Column('relation', sa.Enum('=', '>', '<', name='relation', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('accuracy_words', sa.Text(), nullable=False),
    sa.Column('uncertainty', sa.Double(), nullable=False),
    sa.CheckConstraint("typed <> '' AND accuracy_words <> ''", name=op.f('ck_discharge_reading_says_with_what')),
    sa.CheckConstraint('uncertainty >= 0', name=op.f('ck_discharge_reading_uncertainty_not_negative')),
    sa.ForeignKeyConstraint(['capacitor_id'], ['supply_capacitor.id'], name=op.f('fk_discharge_reading_capacitor_id_supply_capacitor')),
    sa.ForeignKeyConstraint(['record_id'], ['discharge_record.id'], name=op.f('fk_discharge_reading_record_id_discharge_record')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_discharge_reading')),
    sa.UniqueConstraint('record_id', 'capacitor_id', name=op.f('uq_discharge_reading_record_id_capacitor_id'))
    )
    with op.batch_alter_table('discharge_reading', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_discharge_reading_capacitor_id'), ['capacitor_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_discharge_reading_record_id'), ['record_id'], unique=False)

    with op.batch_alter_table('order_standing', schema=None) as batch_op:
        batch_op.add_column(sa.Column('discharged', sa.Boolean(), server_default=sa.false(), nullable=False))

    orders = sa.table("repair_order", sa.column("id"), sa.column("ended_as"))
    standing = sa.table("order_standing", sa.column("order_id"), sa.column("good_until", app.db.UtcTime()), sa.column("turn"))
    is_open = sa.select(orders.c.id).where(orders.c.ended_as.is_(None))
    op.execute(sa.update(standing).where(standing.c.order_id.in_(is_open))
               .values(good_until=datetime(1970, 1, 1, tzinfo=UTC), turn=standing.c.turn + 1))
