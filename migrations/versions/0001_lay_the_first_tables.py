"""Lay the first tables."""

import sqlalchemy as sa
from alembic import op

import app.db

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table('amp',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('maker', sa.Text(), nullable=False),
    sa.Column('model', sa.Text(), nullable=False),
    sa.Column('serial', sa.Text(), nullable=False),
    sa.Column('mains_marking', sa.Text(), nullable=False),
    sa.Column('protection_class', sa.Enum('I', 'II', 'not known yet', name='protectionclass', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('valves', sa.Text(), nullable=False),
    sa.Column('covering', sa.Text(), nullable=False),
    sa.Column('added_at', app.db.UtcTime(), nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_amp'))
    )
    op.create_table('customer',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('name', sa.Text(), nullable=False),
    sa.Column('phone', sa.Text(), nullable=False),
    sa.Column('email', sa.Text(), nullable=False),
    sa.Column('address', sa.Text(), nullable=False),
    sa.Column('note', sa.Text(), nullable=False),
    sa.Column('added_at', app.db.UtcTime(), nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.CheckConstraint("phone <> '' OR email <> '' OR address <> ''", name=op.f('ck_customer_one_way_to_reach')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_customer'))
    )
    with op.batch_alter_table('customer', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_customer_name'), ['name'], unique=False)

    op.create_table('journal_entry',
    sa.Column('seq', sa.Integer(), autoincrement=False, nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('person_id', sa.Integer(), nullable=True),
    sa.Column('person_name', sa.Text(), nullable=False),
    sa.Column('device', sa.Text(), nullable=False),
    sa.Column('event', sa.Text(), nullable=False),
    sa.Column('subject_type', sa.Text(), nullable=False),
    sa.Column('subject_id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=True),
    sa.Column('before', sa.Text(), nullable=False),
    sa.Column('after', sa.Text(), nullable=False),
    sa.Column('reason', sa.Text(), nullable=False),
    sa.Column('previous_hash', sa.Text(), nullable=False),
    sa.Column('hash', sa.Text(), nullable=False),
    sa.CheckConstraint('length(hash) = 64', name=op.f('ck_journal_entry_hash_is_sha256')),
    sa.CheckConstraint('seq > 0', name=op.f('ck_journal_entry_seq_counts_from_one')),
    sa.PrimaryKeyConstraint('seq', name=op.f('pk_journal_entry'))
    )
    with op.batch_alter_table('journal_entry', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_journal_entry_order_id'), ['order_id'], unique=False)
        batch_op.create_index('ix_journal_entry_subject', ['subject_type', 'subject_id'], unique=False)

    op.create_table('person',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('name', sa.Text(), nullable=False),
    sa.Column('role', sa.Enum('counter', 'technician', 'owner', name='role', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('password_hash', sa.Text(), nullable=False),
    sa.Column('pin_hash', sa.Text(), nullable=True),
    sa.Column('active', sa.Boolean(), nullable=False),
    sa.Column('added_at', app.db.UtcTime(), nullable=False),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_person')),
    sa.UniqueConstraint('name', name=op.f('uq_person_name'))
    )
    op.create_table('shop',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('name', sa.Text(), nullable=False),
    sa.Column('address', sa.Text(), nullable=False),
    sa.Column('phone', sa.Text(), nullable=False),
    sa.Column('email', sa.Text(), nullable=False),
    sa.Column('licence', sa.Text(), nullable=False),
    sa.Column('tax_number', sa.Text(), nullable=False),
    sa.Column('wording', sa.Enum('valve', 'tube', name='pack', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('currency', sa.Text(), nullable=False),
    sa.Column('tax_name', sa.Text(), nullable=False),
    sa.Column('tax_rate_bp', sa.Integer(), nullable=False),
    sa.Column('paper', sa.Text(), nullable=False),
    sa.Column('time_zone', sa.Text(), nullable=False),
    sa.Column('jurisdiction', sa.Text(), nullable=False),
    sa.Column('mains_v', sa.Double(), nullable=False),
    sa.Column('mains_hz', sa.Integer(), nullable=False),
    sa.Column('hourly_rate_minor', sa.Integer(), nullable=False),
    sa.Column('diagnosis_fee_minor', sa.Integer(), nullable=False),
    sa.Column('decline_fee_minor', sa.Integer(), nullable=False),
    sa.Column('quote_valid_days', sa.Integer(), nullable=False),
    sa.Column('warranty_days', sa.Integer(), nullable=False),
    sa.Column('warn_at_percent', sa.Integer(), nullable=False),
    sa.Column('hold_at_percent', sa.Integer(), nullable=False),
    sa.Column('safe_volts', sa.Double(), nullable=False),
    sa.Column('soak_minutes', sa.Integer(), nullable=False),
    sa.Column('first_number', sa.Integer(), nullable=False),
    sa.Column('demo', sa.Boolean(), nullable=False),
    sa.Column('opened_at', app.db.UtcTime(), nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.CheckConstraint("paper IN ('A4', 'Letter')", name=op.f('ck_shop_paper_known')),
    sa.CheckConstraint('hourly_rate_minor >= 0 AND diagnosis_fee_minor >= 0 AND decline_fee_minor >= 0', name=op.f('ck_shop_money_not_negative')),
    sa.CheckConstraint('id = 1', name=op.f('ck_shop_only_one')),
    sa.CheckConstraint('mains_hz IN (50, 60)', name=op.f('ck_shop_mains_hz_known')),
    sa.CheckConstraint('safe_volts > 0 AND safe_volts <= 60', name=op.f('ck_shop_safe_volts_touchable')),
    sa.CheckConstraint('tax_rate_bp BETWEEN 0 AND 10000', name=op.f('ck_shop_tax_rate_sensible')),
    sa.CheckConstraint('warn_at_percent BETWEEN 1 AND 100 AND hold_at_percent BETWEEN warn_at_percent AND 100', name=op.f('ck_shop_ceiling_percents_in_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_shop'))
    )
    op.create_table('device',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('name', sa.Text(), nullable=False),
    sa.Column('secret_hash', sa.Text(), nullable=False),
    sa.Column('enrolled_at', app.db.UtcTime(), nullable=False),
    sa.Column('enrolled_by_id', sa.Integer(), nullable=False),
    sa.Column('revoked_at', app.db.UtcTime(), nullable=True),
    sa.ForeignKeyConstraint(['enrolled_by_id'], ['person.id'], name=op.f('fk_device_enrolled_by_id_person')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_device')),
    sa.UniqueConstraint('secret_hash', name=op.f('uq_device_secret_hash'))
    )
    op.create_table('enrol_code',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('code_hash', sa.Text(), nullable=False),
    sa.Column('made_at', app.db.UtcTime(), nullable=False),
    sa.Column('made_by_id', sa.Integer(), nullable=False),
    sa.Column('used_at', app.db.UtcTime(), nullable=True),
    sa.ForeignKeyConstraint(['made_by_id'], ['person.id'], name=op.f('fk_enrol_code_made_by_id_person')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_enrol_code'))
    )
    op.create_table('guesses',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('person_id', sa.Integer(), nullable=False),
    sa.Column('device_key', sa.Text(), nullable=False),
    sa.Column('kind', sa.Text(), nullable=False),
    sa.Column('failures', sa.Integer(), nullable=False),
    sa.Column('last_at', app.db.UtcTime(), nullable=False),
    sa.CheckConstraint("kind IN ('password', 'pin')", name=op.f('ck_guesses_kind_known')),
    sa.CheckConstraint('failures >= 0', name=op.f('ck_guesses_failures_not_negative')),
    sa.ForeignKeyConstraint(['person_id'], ['person.id'], name=op.f('fk_guesses_person_id_person')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_guesses')),
    sa.UniqueConstraint('person_id', 'device_key', 'kind', name=op.f('uq_guesses_person_id_device_key_kind'))
    )
    op.create_table('held_post',
    sa.Column('id', sa.Text(), nullable=False),
    sa.Column('person_id', sa.Integer(), nullable=True),
    sa.Column('path', sa.Text(), nullable=False),
    sa.Column('fields', sa.Text(), nullable=False),
    sa.Column('files', sa.Text(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('taken_at', app.db.UtcTime(), nullable=True),
    sa.ForeignKeyConstraint(['person_id'], ['person.id'], name=op.f('fk_held_post_person_id_person')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_held_post'))
    )
    op.create_table('once_key',
    sa.Column('key', sa.Text(), nullable=False),
    sa.Column('person_id', sa.Integer(), nullable=True),
    sa.Column('fingerprint', sa.Text(), nullable=False),
    sa.Column('location', sa.Text(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.ForeignKeyConstraint(['person_id'], ['person.id'], name=op.f('fk_once_key_person_id_person')),
    sa.PrimaryKeyConstraint('key', name=op.f('pk_once_key'))
    )
    op.create_table('repair_order',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('number', sa.Integer(), nullable=False),
    sa.Column('amp_id', sa.Integer(), nullable=False),
    sa.Column('depositor_id', sa.Integer(), nullable=False),
    sa.Column('owner_id', sa.Integer(), nullable=False),
    sa.Column('authority_id', sa.Integer(), nullable=False),
    sa.Column('stage', sa.Enum('intake', 'teardown', 'quote', 'parts', 'reassembly', 'safety_test', 'return', name='stage', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('ended_as', sa.Enum('repaired', 'returned_unrepaired', 'uncollected', name='end', native_enum=False, create_constraint=True, length=40), nullable=True),
    sa.Column('ended_at', app.db.UtcTime(), nullable=True),
    sa.Column('opened_at', app.db.UtcTime(), nullable=False),
    sa.Column('promised_on', sa.Date(), nullable=True),
    sa.Column('shelf', sa.Text(), nullable=False),
    sa.Column('come_back_of_id', sa.Integer(), nullable=True),
    sa.Column('under_warranty', sa.Boolean(), nullable=True),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.CheckConstraint('(ended_as IS NULL) = (ended_at IS NULL)', name=op.f('ck_repair_order_ended_has_time')),
    sa.CheckConstraint('come_back_of_id IS NULL OR come_back_of_id <> id', name=op.f('ck_repair_order_not_its_own_come_back')),
    sa.CheckConstraint('number > 0', name=op.f('ck_repair_order_number_positive')),
    sa.ForeignKeyConstraint(['amp_id'], ['amp.id'], name=op.f('fk_repair_order_amp_id_amp')),
    sa.ForeignKeyConstraint(['authority_id'], ['customer.id'], name=op.f('fk_repair_order_authority_id_customer')),
    sa.ForeignKeyConstraint(['come_back_of_id'], ['repair_order.id'], name=op.f('fk_repair_order_come_back_of_id_repair_order')),
    sa.ForeignKeyConstraint(['depositor_id'], ['customer.id'], name=op.f('fk_repair_order_depositor_id_customer')),
    sa.ForeignKeyConstraint(['owner_id'], ['customer.id'], name=op.f('fk_repair_order_owner_id_customer')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_repair_order')),
    sa.UniqueConstraint('number', name=op.f('uq_repair_order_number'))
    )
    with op.batch_alter_table('repair_order', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_repair_order_amp_id'), ['amp_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_repair_order_authority_id'), ['authority_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_repair_order_come_back_of_id'), ['come_back_of_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_repair_order_depositor_id'), ['depositor_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_repair_order_owner_id'), ['owner_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_repair_order_stage'), ['stage'], unique=False)

    op.create_table('order_move',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('from_stage', sa.Enum('intake', 'teardown', 'quote', 'parts', 'reassembly', 'safety_test', 'return', name='from_stage', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('to_stage', sa.Enum('intake', 'teardown', 'quote', 'parts', 'reassembly', 'safety_test', 'return', name='to_stage', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.Column('reason', sa.Text(), nullable=False),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_order_move_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_order_move'))
    )
    with op.batch_alter_table('order_move', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_order_move_order_id'), ['order_id'], unique=False)

    op.create_table('sign_in',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('token_hash', sa.Text(), nullable=False),
    sa.Column('person_id', sa.Integer(), nullable=False),
    sa.Column('device_id', sa.Integer(), nullable=True),
    sa.Column('agent', sa.Text(), nullable=False),
    sa.Column('started_at', app.db.UtcTime(), nullable=False),
    sa.Column('seen_at', app.db.UtcTime(), nullable=False),
    sa.Column('proved_at', app.db.UtcTime(), nullable=False),
    sa.Column('ended_at', app.db.UtcTime(), nullable=True),
    sa.ForeignKeyConstraint(['device_id'], ['device.id'], name=op.f('fk_sign_in_device_id_device')),
    sa.ForeignKeyConstraint(['person_id'], ['person.id'], name=op.f('fk_sign_in_person_id_person')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_sign_in')),
    sa.UniqueConstraint('token_hash', name=op.f('uq_sign_in_token_hash'))
    )
