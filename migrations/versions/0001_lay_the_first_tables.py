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
    sa.Column('marks', sa.Text(), nullable=False),
    sa.Column('find_text', sa.Text(), nullable=False),
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
    sa.Column('find_text', sa.Text(), nullable=False),
    sa.Column('added_at', app.db.UtcTime(), nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.CheckConstraint("name <> ''", name=op.f('ck_customer_has_name')),
    sa.CheckConstraint("phone <> '' OR email <> '' OR address <> ''", name=op.f('ck_customer_one_way_to_reach')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_customer'))
    )
    with op.batch_alter_table('customer', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_customer_name'), ['name'], unique=False)

    op.create_table('instrument',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('name', sa.Text(), nullable=False),
    sa.Column('kind', sa.Enum('multimeter', 'earth-bond tester', 'insulation tester', 'leakage tester', 'oscilloscope', 'dummy load', 'capacitor or LCR tester', 'valve tester', 'thermometer', 'other', name='kind', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('make', sa.Text(), nullable=False),
    sa.Column('serial', sa.Text(), nullable=False),
    sa.Column('category', sa.Text(), nullable=False),
    sa.Column('calibrated_on', sa.Date(), nullable=True),
    sa.Column('due_on', sa.Date(), nullable=True),
    sa.Column('certificate', sa.Text(), nullable=False),
    sa.Column('state', sa.Enum('in service', 'indication only', 'quarantined', name='state', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('note', sa.Text(), nullable=False),
    sa.Column('added_at', app.db.UtcTime(), nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.CheckConstraint("name <> ''", name=op.f('ck_instrument_has_name')),
    sa.CheckConstraint('due_on IS NULL OR calibrated_on IS NOT NULL', name=op.f('ck_instrument_due_after_calibration')),
    sa.CheckConstraint('due_on IS NULL OR due_on >= calibrated_on', name=op.f('ck_instrument_due_not_before_calibration')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_instrument')),
    sa.UniqueConstraint('name', name=op.f('uq_instrument_name'))
    )
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
    op.create_table('usual_point',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('name', sa.Text(), nullable=False),
    sa.Column('quantity', sa.Enum('V DC', 'V AC', 'Ω', 'A DC', 'A AC', 'W', 'Hz', 'F', '°C', name='quantity', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('lower', sa.Double(), nullable=True),
    sa.Column('upper', sa.Double(), nullable=True),
    sa.Column('basis', sa.Text(), nullable=False),
    sa.Column('position', sa.Integer(), nullable=False),
    sa.Column('withdrawn_at', app.db.UtcTime(), nullable=True),
    sa.CheckConstraint("name <> ''", name=op.f('ck_usual_point_has_name')),
    sa.CheckConstraint('lower IS NULL OR upper IS NULL OR lower <= upper', name=op.f('ck_usual_point_limits_in_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_usual_point'))
    )
    with op.batch_alter_table('usual_point', schema=None) as batch_op:
        batch_op.create_index('uq_usual_point_standing', ['name'], unique=True, sqlite_where=sa.text('withdrawn_at IS NULL'), postgresql_where=sa.text('withdrawn_at IS NULL'))

    op.create_table('accuracy',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('instrument_id', sa.Integer(), nullable=False),
    sa.Column('quantity', sa.Enum('V DC', 'V AC', 'Ω', 'A DC', 'A AC', 'W', 'Hz', 'F', '°C', name='quantity', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('up_to', sa.Double(), nullable=False),
    sa.Column('percent', sa.Double(), nullable=False),
    sa.Column('counts', sa.Double(), nullable=False),
    sa.Column('resolution', sa.Double(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.Column('withdrawn_at', app.db.UtcTime(), nullable=True),
    sa.Column('withdrawn_by', sa.Text(), nullable=False),
    sa.CheckConstraint('counts = 0 OR resolution > 0', name=op.f('ck_accuracy_counts_have_resolution')),
    sa.CheckConstraint('percent > 0 OR counts > 0', name=op.f('ck_accuracy_states_something')),
    sa.CheckConstraint('up_to > 0 AND percent >= 0 AND counts >= 0 AND resolution >= 0', name=op.f('ck_accuracy_not_negative')),
    sa.ForeignKeyConstraint(['instrument_id'], ['instrument.id'], name=op.f('fk_accuracy_instrument_id_instrument')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_accuracy'))
    )
    with op.batch_alter_table('accuracy', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_accuracy_instrument_id'), ['instrument_id'], unique=False)

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

    op.create_table('accessory',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('what', sa.Text(), nullable=False),
    sa.Column('quantity', sa.Integer(), nullable=False),
    sa.CheckConstraint("what <> ''", name=op.f('ck_accessory_has_name')),
    sa.CheckConstraint('quantity >= 0', name=op.f('ck_accessory_quantity_not_negative')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_accessory_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_accessory')),
    sa.UniqueConstraint('order_id', 'what', name=op.f('uq_accessory_order_id_what'))
    )
    with op.batch_alter_table('accessory', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_accessory_order_id'), ['order_id'], unique=False)

    op.create_table('accessory_count',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_accessory_count_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_accessory_count')),
    sa.UniqueConstraint('order_id', name=op.f('uq_accessory_count_order_id'))
    )
    op.create_table('authority',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('covers', sa.Enum('diagnosis', 'quote', 'variation', 'other', name='authorityfor', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('what_for', sa.Text(), nullable=False),
    sa.Column('ceiling_minor', sa.Integer(), nullable=False),
    sa.Column('agreed_by_id', sa.Integer(), nullable=False),
    sa.Column('agreed_by', sa.Text(), nullable=False),
    sa.Column('channel', sa.Enum('in person', 'phone', 'e-mail', 'signature', name='channel', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('reached_at', sa.Text(), nullable=False),
    sa.Column('agreed_at', app.db.UtcTime(), nullable=False),
    sa.Column('taken_by', sa.Text(), nullable=False),
    sa.Column('note', sa.Text(), nullable=False),
    sa.Column('withdrawn_at', app.db.UtcTime(), nullable=True),
    sa.Column('withdrawn_reason', sa.Text(), nullable=False),
    sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name=op.f('ck_authority_withdrawn_with_reason')),
    sa.CheckConstraint("channel NOT IN ('phone', 'e-mail') OR reached_at <> ''", name=op.f('ck_authority_reached_somewhere')),
    sa.CheckConstraint("what_for <> '' AND agreed_by <> '' AND taken_by <> ''", name=op.f('ck_authority_says_who_and_what')),
    sa.CheckConstraint('ceiling_minor >= 0', name=op.f('ck_authority_ceiling_not_negative')),
    sa.ForeignKeyConstraint(['agreed_by_id'], ['customer.id'], name=op.f('fk_authority_agreed_by_id_customer')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_authority_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_authority'))
    )
    with op.batch_alter_table('authority', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_authority_order_id'), ['order_id'], unique=False)

    op.create_table('complaint',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('words', sa.Text(), nullable=False),
    sa.Column('connected', sa.Text(), nullable=False),
    sa.Column('how_long_on', sa.Text(), nullable=False),
    sa.Column('last_right', sa.Text(), nullable=False),
    sa.Column('worked_on_by', sa.Text(), nullable=False),
    sa.Column('smell', sa.Boolean(), nullable=True),
    sa.Column('smoke', sa.Boolean(), nullable=True),
    sa.Column('fuse', sa.Boolean(), nullable=True),
    sa.Column('keep', sa.Text(), nullable=False),
    sa.Column('leave_alone', sa.Text(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.CheckConstraint("words <> ''", name=op.f('ck_complaint_in_words')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_complaint_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_complaint')),
    sa.UniqueConstraint('order_id', name=op.f('uq_complaint_order_id'))
    )
    op.create_table('condition_note',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('zone', sa.Enum('front', 'top', 'left side', 'right side', 'rear', 'covering', 'grille', 'handle', 'feet', 'panel', 'knobs', 'valves', 'speaker', 'chassis straps', 'serial and mains marking', name='zone', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('note', sa.Text(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.Column('struck_at', app.db.UtcTime(), nullable=True),
    sa.Column('struck_reason', sa.Text(), nullable=False),
    sa.CheckConstraint("(struck_at IS NULL) = (struck_reason = '')", name=op.f('ck_condition_note_struck_with_reason')),
    sa.CheckConstraint("note <> ''", name=op.f('ck_condition_note_says_something')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_condition_note_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_condition_note'))
    )
    with op.batch_alter_table('condition_note', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_condition_note_order_id'), ['order_id'], unique=False)

    op.create_table('finding',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('number', sa.Integer(), nullable=False),
    sa.Column('code', sa.Text(), nullable=False),
    sa.Column('area', sa.Enum('mains', 'earth', 'HT supply', 'bias', 'output stage', 'valve bases', 'boards', 'wiring', 'controls', 'jack sockets', 'speaker', 'cabinet', name='area', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('place', sa.Text(), nullable=False),
    sa.Column('observation', sa.Text(), nullable=False),
    sa.Column('cause', sa.Text(), nullable=False),
    sa.Column('confidence', sa.Enum('proven', 'probable', 'possible', name='confidence', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('origin', sa.Enum('wear', 'design', 'earlier work', 'use', 'transit', 'ours', name='origin', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('hazard', sa.Text(), nullable=False),
    sa.Column('severity', sa.Integer(), nullable=True),
    sa.Column('probability', sa.Text(), nullable=True),
    sa.Column('equipment_severity', sa.Integer(), nullable=True),
    sa.Column('function_severity', sa.Integer(), nullable=True),
    sa.Column('check_words', sa.Text(), nullable=False),
    sa.Column('recorded_at', app.db.UtcTime(), nullable=False),
    sa.Column('recorded_by', sa.Text(), nullable=False),
    sa.Column('disposition', sa.Enum('accept_as_is', 'monitor', 'clean_adjust', 'repair', 'replace_like', 'replace_upgrade', 'remove_mod', 'refer', 'quarantine', 'customer_declined', 'not_economic', name='disposition', native_enum=False, create_constraint=True, length=40), nullable=True),
    sa.Column('disposition_words', sa.Text(), nullable=False),
    sa.Column('authority', sa.Enum('technician', 'shop owner', 'customer', name='authority', native_enum=False, create_constraint=True, length=40), nullable=True),
    sa.Column('decided_at', app.db.UtcTime(), nullable=True),
    sa.Column('decided_by', sa.Text(), nullable=True),
    sa.Column('acted_at', app.db.UtcTime(), nullable=True),
    sa.Column('acted_by', sa.Text(), nullable=True),
    sa.Column('acted_words', sa.Text(), nullable=False),
    sa.Column('proved_at', app.db.UtcTime(), nullable=True),
    sa.Column('proved_by', sa.Text(), nullable=True),
    sa.Column('proof_words', sa.Text(), nullable=False),
    sa.Column('proof_instrument', sa.Text(), nullable=False),
    sa.Column('declined_at', app.db.UtcTime(), nullable=True),
    sa.Column('declined_by', sa.Text(), nullable=True),
    sa.Column('decline_paper', sa.Text(), nullable=False),
    sa.Column('advised', sa.Enum('accept_as_is', 'monitor', 'clean_adjust', 'repair', 'replace_like', 'replace_upgrade', 'remove_mod', 'refer', 'quarantine', 'customer_declined', 'not_economic', name='advised', native_enum=False, create_constraint=True, length=40), nullable=True),
    sa.Column('withdrawn_at', app.db.UtcTime(), nullable=True),
    sa.Column('withdrawn_by', sa.Text(), nullable=True),
    sa.Column('withdrawn_reason', sa.Text(), nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.CheckConstraint("(declined_at IS NOT NULL) = (COALESCE(disposition, '') = 'customer_declined')", name=op.f('ck_finding_declined_is_decided')),
    sa.CheckConstraint("acted_at IS NULL OR acted_words <> ''", name=op.f('ck_finding_act_has_words')),
    sa.CheckConstraint("declined_at IS NULL OR decline_paper <> ''", name=op.f('ck_finding_declined_in_writing')),
    sa.CheckConstraint("observation <> ''", name=op.f('ck_finding_says_what_was_seen')),
    sa.CheckConstraint("probability IS NULL OR probability IN ('a','b','c','d','e','f','g','h')", name=op.f('ck_finding_probability_known')),
    sa.CheckConstraint("proved_at IS NULL OR proof_words <> ''", name=op.f('ck_finding_proof_has_words')),
    sa.CheckConstraint("withdrawn_at IS NULL OR withdrawn_reason <> ''", name=op.f('ck_finding_withdrawn_with_reason')),
    sa.CheckConstraint('(COALESCE(severity, 0) = 0) = (probability IS NULL)', name=op.f('ck_finding_injury_has_probability')),
    sa.CheckConstraint('(disposition IS NULL) = (decided_at IS NULL)', name=op.f('ck_finding_decision_has_time')),
    sa.CheckConstraint('CASE WHEN proved_at IS NULL THEN 0 ELSE 1 END + CASE WHEN declined_at IS NULL THEN 0 ELSE 1 END + CASE WHEN withdrawn_at IS NULL THEN 0 ELSE 1 END <= 1', name=op.f('ck_finding_ends_once')),
    sa.CheckConstraint('equipment_severity IS NULL OR equipment_severity BETWEEN 1 AND 4', name=op.f('ck_finding_equipment_known')),
    sa.CheckConstraint('function_severity IS NULL OR function_severity BETWEEN 0 AND 3', name=op.f('ck_finding_function_known')),
    sa.CheckConstraint('number > 0', name=op.f('ck_finding_number_positive')),
    sa.CheckConstraint('severity IS NULL OR severity BETWEEN 0 AND 4', name=op.f('ck_finding_severity_known')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_finding_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_finding')),
    sa.UniqueConstraint('order_id', 'number', name=op.f('uq_finding_order_id_number'))
    )
    with op.batch_alter_table('finding', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_finding_order_id'), ['order_id'], unique=False)

    op.create_table('first_look',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('dangers', sa.JSON(), nullable=False),
    sa.Column('other', sa.Text(), nullable=False),
    sa.Column('energised', sa.Boolean(), nullable=False),
    sa.Column('energised_why', sa.Text(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.CheckConstraint("NOT energised OR energised_why <> ''", name=op.f('ck_first_look_energised_with_reason')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_first_look_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_first_look')),
    sa.UniqueConstraint('order_id', name=op.f('uq_first_look_order_id'))
    )
    op.create_table('intake_agreement',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('fee_minor', sa.Integer(), nullable=False),
    sa.Column('fee_credited', sa.Boolean(), nullable=False),
    sa.Column('ceiling_minor', sa.Integer(), nullable=False),
    sa.Column('declared_value_minor', sa.Integer(), nullable=True),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.CheckConstraint('ceiling_minor >= fee_minor', name=op.f('ck_intake_agreement_ceiling_covers_fee')),
    sa.CheckConstraint('fee_minor >= 0 AND (declared_value_minor IS NULL OR declared_value_minor >= 0)', name=op.f('ck_intake_agreement_money_not_negative')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_intake_agreement_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_intake_agreement')),
    sa.UniqueConstraint('order_id', name=op.f('uq_intake_agreement_order_id'))
    )
    op.create_table('made_safe',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('volts', sa.Double(), nullable=False),
    sa.Column('limit_volts', sa.Double(), nullable=False),
    sa.Column('across', sa.Text(), nullable=False),
    sa.Column('instrument', sa.Text(), nullable=False),
    sa.Column('how', sa.Text(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.Column('expired_at', app.db.UtcTime(), nullable=True),
    sa.Column('expired_by', sa.Text(), nullable=True),
    sa.Column('expired_reason', sa.Text(), nullable=True),
    sa.CheckConstraint("instrument <> ''", name=op.f('ck_made_safe_with_an_instrument')),
    sa.CheckConstraint('(expired_at IS NULL) = (expired_reason IS NULL)', name=op.f('ck_made_safe_expired_with_reason')),
    sa.CheckConstraint('volts >= 0 AND volts < limit_volts', name=op.f('ck_made_safe_below_the_limit')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_made_safe_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_made_safe'))
    )
    with op.batch_alter_table('made_safe', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_made_safe_order_id'), ['order_id'], unique=False)

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

    op.create_table('photo',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('sha256', sa.Text(), nullable=False),
    sa.Column('web_sha256', sa.Text(), nullable=False),
    sa.Column('thumb_sha256', sa.Text(), nullable=False),
    sa.Column('media_type', sa.Text(), nullable=False),
    sa.Column('width', sa.Integer(), nullable=False),
    sa.Column('height', sa.Integer(), nullable=False),
    sa.Column('place', sa.Text(), nullable=False),
    sa.Column('caption', sa.Text(), nullable=False),
    sa.Column('phase', sa.Enum('as_found', 'at_work', 'as_left', name='phase', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('position', sa.Integer(), nullable=False),
    sa.Column('captured_at', app.db.UtcTime(), nullable=True),
    sa.Column('added_at', app.db.UtcTime(), nullable=False),
    sa.Column('added_by', sa.Text(), nullable=False),
    sa.Column('struck_at', app.db.UtcTime(), nullable=True),
    sa.Column('struck_by', sa.Text(), nullable=True),
    sa.Column('struck_reason', sa.Text(), nullable=True),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.CheckConstraint("media_type IN ('image/jpeg', 'image/png', 'image/webp', 'image/heic')", name=op.f('ck_photo_media_known')),
    sa.CheckConstraint("place <> ''", name=op.f('ck_photo_has_place')),
    sa.CheckConstraint('(struck_at IS NULL) = (struck_reason IS NULL)', name=op.f('ck_photo_struck_with_reason')),
    sa.CheckConstraint('length(sha256) = 64 AND length(web_sha256) = 64 AND length(thumb_sha256) = 64', name=op.f('ck_photo_hashed')),
    sa.CheckConstraint('width > 0 AND height > 0', name=op.f('ck_photo_has_size')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_photo_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_photo'))
    )
    with op.batch_alter_table('photo', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_photo_order_id'), ['order_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_photo_sha256'), ['sha256'], unique=False)

    op.create_table('point',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('name', sa.Text(), nullable=False),
    sa.Column('quantity', sa.Enum('V DC', 'V AC', 'Ω', 'A DC', 'A AC', 'W', 'Hz', 'F', '°C', name='quantity', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('expected', sa.Double(), nullable=True),
    sa.Column('lower', sa.Double(), nullable=True),
    sa.Column('upper', sa.Double(), nullable=True),
    sa.Column('basis', sa.Text(), nullable=False),
    sa.Column('position', sa.Integer(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.Column('withdrawn_at', app.db.UtcTime(), nullable=True),
    sa.Column('withdrawn_reason', sa.Text(), nullable=False),
    sa.Column('version', sa.Integer(), nullable=False),
    sa.CheckConstraint("(lower IS NULL AND upper IS NULL) OR basis <> ''", name=op.f('ck_point_limits_have_basis')),
    sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name=op.f('ck_point_withdrawn_with_reason')),
    sa.CheckConstraint("name <> ''", name=op.f('ck_point_has_name')),
    sa.CheckConstraint('lower IS NULL OR upper IS NULL OR lower <= upper', name=op.f('ck_point_limits_in_order')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_point_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_point'))
    )
    with op.batch_alter_table('point', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_point_order_id'), ['order_id'], unique=False)
        batch_op.create_index('uq_point_standing', ['order_id', 'name'], unique=True, sqlite_where=sa.text('withdrawn_at IS NULL'), postgresql_where=sa.text('withdrawn_at IS NULL'))

    op.create_table('quarantine',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('reason', sa.Text(), nullable=False),
    sa.Column('set_at', app.db.UtcTime(), nullable=False),
    sa.Column('set_by', sa.Text(), nullable=False),
    sa.Column('lifted_at', app.db.UtcTime(), nullable=True),
    sa.Column('lifted_by', sa.Text(), nullable=False),
    sa.Column('lifted_reason', sa.Text(), nullable=False),
    sa.CheckConstraint("(lifted_at IS NULL) = (lifted_reason = '') AND (lifted_at IS NULL) = (lifted_by = '')", name=op.f('ck_quarantine_lifted_with_reason')),
    sa.CheckConstraint("reason <> ''", name=op.f('ck_quarantine_has_reason')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_quarantine_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_quarantine'))
    )
    with op.batch_alter_table('quarantine', schema=None) as batch_op:
        batch_op.create_index('uq_quarantine_one_standing', ['order_id'], unique=True, sqlite_where=sa.text('lifted_at IS NULL'), postgresql_where=sa.text('lifted_at IS NULL'))

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
    op.create_table('terms_acceptance',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('jurisdiction', sa.Text(), nullable=False),
    sa.Column('terms_checked', sa.Date(), nullable=False),
    sa.Column('text', sa.Text(), nullable=False),
    sa.Column('text_sha256', sa.Text(), nullable=False),
    sa.Column('fee_minor', sa.Integer(), nullable=False),
    sa.Column('ceiling_minor', sa.Integer(), nullable=False),
    sa.Column('signer_id', sa.Integer(), nullable=False),
    sa.Column('signer_name', sa.Text(), nullable=False),
    sa.Column('how', sa.Enum('on the screen', 'on paper', name='howsigned', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('signature', sa.Text(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.CheckConstraint("(how = 'on the screen') = (signature <> '')", name=op.f('ck_terms_acceptance_pen_on_screen')),
    sa.CheckConstraint("signer_name <> ''", name=op.f('ck_terms_acceptance_has_name')),
    sa.CheckConstraint('fee_minor >= 0 AND ceiling_minor >= 0', name=op.f('ck_terms_acceptance_money_not_negative')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_terms_acceptance_order_id_repair_order')),
    sa.ForeignKeyConstraint(['signer_id'], ['customer.id'], name=op.f('fk_terms_acceptance_signer_id_customer')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_terms_acceptance'))
    )
    with op.batch_alter_table('terms_acceptance', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_terms_acceptance_order_id'), ['order_id'], unique=False)

    op.create_table('photo_pin',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('photo_id', sa.Integer(), nullable=False),
    sa.Column('kind', sa.Text(), nullable=False),
    sa.Column('subject_id', sa.Integer(), nullable=False),
    sa.Column('label', sa.Text(), nullable=False),
    sa.Column('x', sa.Double(), nullable=True),
    sa.Column('y', sa.Double(), nullable=True),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.Column('lifted_at', app.db.UtcTime(), nullable=True),
    sa.CheckConstraint('(x IS NULL) = (y IS NULL)', name=op.f('ck_photo_pin_both_fractions')),
    sa.CheckConstraint('x IS NULL OR (x BETWEEN 0 AND 1 AND y BETWEEN 0 AND 1)', name=op.f('ck_photo_pin_inside_the_picture')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_photo_pin_order_id_repair_order')),
    sa.ForeignKeyConstraint(['photo_id'], ['photo.id'], name=op.f('fk_photo_pin_photo_id_photo')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_photo_pin'))
    )
    with op.batch_alter_table('photo_pin', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_photo_pin_order_id'), ['order_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_photo_pin_photo_id'), ['photo_id'], unique=False)
        batch_op.create_index('ix_photo_pin_subject', ['kind', 'subject_id'], unique=False)

    op.create_table('reading',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('point_id', sa.Integer(), nullable=True),
    sa.Column('point', sa.Text(), nullable=False),
    sa.Column('phase', sa.Enum('as found', 'as left', name='phase', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('condition', sa.Text(), nullable=False),
    sa.Column('mains_v', sa.Double(), nullable=True),
    sa.Column('typed', sa.Text(), nullable=False),
    sa.Column('value', sa.Double(), nullable=False),
    sa.Column('relation', sa.Enum('=', '>', '<', name='relation', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('quantity', sa.Enum('V DC', 'V AC', 'Ω', 'A DC', 'A AC', 'W', 'Hz', 'F', '°C', name='quantity', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('unit', sa.Text(), nullable=False),
    sa.Column('expected', sa.Double(), nullable=True),
    sa.Column('lower', sa.Double(), nullable=True),
    sa.Column('upper', sa.Double(), nullable=True),
    sa.Column('basis', sa.Text(), nullable=False),
    sa.Column('instrument_id', sa.Integer(), nullable=False),
    sa.Column('instrument_words', sa.Text(), nullable=False),
    sa.Column('accuracy_words', sa.Text(), nullable=False),
    sa.Column('due_on', sa.Date(), nullable=True),
    sa.Column('standing', sa.Enum('in date', 'due soon', 'overdue', 'no calibration on record', 'indication only', 'quarantined', name='standing', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('uncertainty', sa.Double(), nullable=True),
    sa.Column('verdict', sa.Enum('pass', 'fail', 'undecided', 'not judged', name='verdict', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('false_accept', sa.Double(), nullable=True),
    sa.Column('why', sa.Text(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.Column('corrects_id', sa.Integer(), nullable=True),
    sa.Column('correction_reason', sa.Text(), nullable=False),
    sa.Column('explanation', sa.Text(), nullable=False),
    sa.Column('explained_at', app.db.UtcTime(), nullable=True),
    sa.Column('explained_by', sa.Text(), nullable=False),
    sa.CheckConstraint("(corrects_id IS NULL) = (correction_reason = '')", name=op.f('ck_reading_corrected_with_reason')),
    sa.CheckConstraint("(explained_at IS NULL) = (explanation = '')", name=op.f('ck_reading_explained_in_words')),
    sa.CheckConstraint("typed <> ''", name=op.f('ck_reading_has_typed')),
    sa.CheckConstraint("unit <> ''", name=op.f('ck_reading_has_unit')),
    sa.CheckConstraint("verdict = 'not judged' OR (uncertainty IS NOT NULL AND (lower IS NOT NULL OR upper IS NOT NULL))", name=op.f('ck_reading_judged_by_limits')),
    sa.CheckConstraint('lower IS NULL OR upper IS NULL OR lower <= upper', name=op.f('ck_reading_limits_in_order')),
    sa.CheckConstraint('uncertainty IS NULL OR uncertainty >= 0', name=op.f('ck_reading_uncertainty_not_negative')),
    sa.ForeignKeyConstraint(['corrects_id'], ['reading.id'], name=op.f('fk_reading_corrects_id_reading')),
    sa.ForeignKeyConstraint(['instrument_id'], ['instrument.id'], name=op.f('fk_reading_instrument_id_instrument')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_reading_order_id_repair_order')),
    sa.ForeignKeyConstraint(['point_id'], ['point.id'], name=op.f('fk_reading_point_id_point')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_reading')),
    sa.UniqueConstraint('corrects_id', name=op.f('uq_reading_corrects_id'))
    )
    with op.batch_alter_table('reading', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_reading_instrument_id'), ['instrument_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_reading_order_id'), ['order_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_reading_point_id'), ['point_id'], unique=False)

    op.create_table('kept_sum',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=True),
    sa.Column('section', sa.Text(), nullable=False),
    sa.Column('given', sa.JSON(), nullable=False),
    sa.Column('results', sa.JSON(), nullable=False),
    sa.Column('kept_by', sa.Text(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('note', sa.Text(), nullable=False),
    sa.CheckConstraint("section <> '' AND kept_by <> ''", name=op.f('ck_kept_sum_says_what_and_who')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_kept_sum_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_kept_sum'))
    )
    with op.batch_alter_table('kept_sum', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_kept_sum_order_id'), ['order_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_kept_sum_section'), ['section'], unique=False)
