"""Say which limits were replaced, when a notice was given and what a mains pin joins; keep incidents."""

import sqlalchemy as sa
from alembic import op

import app.db
from migrations import steps
revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table('incident',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=True),
    sa.Column('customer_id', sa.Integer(), nullable=True),
    sa.Column('amp_id', sa.Integer(), nullable=True),
    sa.Column('happened_at', app.db.UtcTime(), nullable=False),
    sa.Column('learned_at', app.db.UtcTime(), nullable=False),
    sa.Column('place', sa.Text(), nullable=False),
    sa.Column('who', sa.Text(), nullable=False),
    sa.Column('harm', sa.Enum('nobody, but it could have hurt someone', 'first aid or less', 'a doctor or a hospital', 'serious injury or illness', 'a death', name='harm', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('what', sa.Text(), nullable=False),
    sa.Column('first_aid', sa.Text(), server_default='', nullable=False),
    sa.Column('kept', sa.Text(), server_default='', nullable=False),
    sa.Column('jurisdiction', sa.Text(), nullable=False),
    sa.Column('duty_words', sa.Text(), nullable=False),
    sa.Column('duty_to', sa.Text(), server_default='', nullable=False),
    sa.Column('duty_source', sa.Text(), nullable=False),
    sa.Column('duty_address', sa.Text(), server_default='', nullable=False),
    sa.Column('duty_read', sa.Text(), nullable=False),
    sa.Column('duty_checked', sa.Date(), nullable=False),
    sa.Column('due_at', app.db.UtcTime(), nullable=True),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.CheckConstraint("who <> '' AND what <> '' AND place <> ''", name=op.f('ck_incident_says_who_what_where')),
    sa.CheckConstraint('happened_at <= learned_at', name=op.f('ck_incident_learned_after_it_happened')),
    sa.ForeignKeyConstraint(['amp_id'], ['amp.id'], name=op.f('fk_incident_amp_id_amp')),
    sa.ForeignKeyConstraint(['customer_id'], ['customer.id'], name=op.f('fk_incident_customer_id_customer')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_incident_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_incident'))
    )
    with op.batch_alter_table('incident', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_incident_amp_id'), ['amp_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_incident_customer_id'), ['customer_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_incident_order_id'), ['order_id'], unique=False)

    op.create_table('incident_entry',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('incident_id', sa.Integer(), nullable=False),
    sa.Column('kind', sa.Enum('told someone', 'reported as the law asks', 'no report is due', 'correction or addition', name='told', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('whom', sa.Text(), server_default='', nullable=False),
    sa.Column('what', sa.Text(), nullable=False),
    sa.Column('told_at', app.db.UtcTime(), nullable=False),
    sa.Column('proof', sa.Text(), server_default='', nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.CheckConstraint("kind NOT IN ('told someone', 'reported as the law asks') OR whom <> ''", name=op.f('ck_incident_entry_told_to_somebody')),
    sa.CheckConstraint("what <> ''", name=op.f('ck_incident_entry_says_what')),
    sa.ForeignKeyConstraint(['incident_id'], ['incident.id'], name=op.f('fk_incident_entry_incident_id_incident')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_incident_entry'))
    )
    with op.batch_alter_table('incident_entry', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_incident_entry_incident_id'), ['incident_id'], unique=False)

    with op.batch_alter_table('collection_notice', schema=None) as batch_op:
        batch_op.add_column(sa.Column('given_on', sa.Date(), nullable=True))
        batch_op.add_column(sa.Column('recipient', sa.String(length=40), nullable=True))
        batch_op.add_column(sa.Column('rule_read', sa.Text(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('rule_address', sa.Text(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('worth_minor', sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column('worth_from', sa.Text(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('wait_to', sa.Text(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('fates', sa.Text(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('keep_months', sa.Integer(), server_default='0', nullable=False))

    op.execute("UPDATE collection_notice SET given_on = sent_on")  # what the time was counted from until now
    steps.never_empty("collection_notice", "given_on")
    with op.batch_alter_table('collection_notice', schema=None) as batch_op:
        batch_op.create_check_constraint(batch_op.f('ck_collection_notice_given_after_sending'), 'given_on >= sent_on')
        batch_op.create_check_constraint(batch_op.f('ck_collection_notice_recipient'), "recipient IN ('who left it', 'the owner', 'someone else')")
        batch_op.create_check_constraint(batch_op.f('ck_collection_notice_worth_with_evidence'), "worth_minor IS NULL OR (worth_minor >= 0 AND worth_from <> '')")

    with op.batch_alter_table('first_look', schema=None) as batch_op:
        batch_op.add_column(sa.Column('mains_joined', sa.Boolean(), nullable=True))

    with op.batch_alter_table('profile_step', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('ck_profile_step_mark'), type_='check')
        batch_op.drop_constraint(batch_op.f('ck_profile_step_stepkind'), type_='check')
        batch_op.add_column(sa.Column('absent', sa.Text(), server_default='', nullable=False))
        batch_op.create_check_constraint(batch_op.f('ck_profile_step_mark'), "mark IN ('S', 'M', 'shop', 'superseded', 'practice')")
        batch_op.create_check_constraint(batch_op.f('ck_profile_step_stepkind'), "kind IN ('visual', 'isolation from mains', 'fuse', 'polarity', 'protective earth', 'insulation', 'leakage current', 'touch current', 'functional')")

    with op.batch_alter_table('safety_profile', schema=None) as batch_op:
        batch_op.add_column(sa.Column('revision', sa.Integer(), server_default='1', nullable=False))
        batch_op.add_column(sa.Column('kept_revision', sa.Integer(), server_default='0', nullable=False))
        batch_op.add_column(sa.Column('kept_at', app.db.UtcTime(), nullable=True))
        batch_op.add_column(sa.Column('kept_by', sa.Text(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('kept_reason', sa.Text(), server_default='', nullable=False))
        batch_op.drop_constraint(batch_op.f('uq_safety_profile_name'), type_='unique')
        batch_op.create_unique_constraint(batch_op.f('uq_safety_profile_name_revision'), ['name', 'revision'])
        batch_op.create_check_constraint(batch_op.f('ck_safety_profile_kept_with_reason'), "(kept_at IS NULL) = (kept_reason = '')")

    with op.batch_alter_table('safety_step', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('ck_safety_step_mark'), type_='check')
        batch_op.drop_constraint(batch_op.f('ck_safety_step_stepkind'), type_='check')
        batch_op.add_column(sa.Column('absent', sa.Text(), server_default='', nullable=False))
        batch_op.create_check_constraint(batch_op.f('ck_safety_step_mark'), "mark IN ('S', 'M', 'shop', 'superseded', 'practice')")
        batch_op.create_check_constraint(batch_op.f('ck_safety_step_stepkind'), "kind IN ('visual', 'isolation from mains', 'fuse', 'polarity', 'protective earth', 'insulation', 'leakage current', 'touch current', 'functional')")
