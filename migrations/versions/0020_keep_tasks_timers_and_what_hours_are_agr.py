"""Keep tasks, timers and what hours are agreed.

The shop's settings get its opening hours; kinds of work are stored with the first task. What every open order waits for is worked
out again, because its gates ask for a call about the hours.
"""

import sqlalchemy as sa
from alembic import op

import app.db

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table('work_kind',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('name', sa.Text(), nullable=False),
    sa.Column('areas', sa.JSON(), nullable=False),
    sa.Column('retired_at', app.db.UtcTime(), nullable=True),
    sa.Column('version', sa.Integer(), server_default='1', nullable=False),
    sa.CheckConstraint("name <> ''", name=op.f('ck_work_kind_has_name')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_work_kind')),
    sa.UniqueConstraint('name', name=op.f('uq_work_kind_name'))
    )
    op.create_table('order_outlook',
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('spent_hours', sa.Double(), nullable=False),
    sa.Column('running_since', sa.JSON(), nullable=False),
    sa.Column('to_come_hours', sa.Double(), nullable=False),
    sa.Column('p50_hours', sa.Double(), nullable=False),
    sa.Column('p80_hours', sa.Double(), nullable=False),
    sa.Column('ceiling_hours', sa.Double(), nullable=True),
    sa.Column('queue_median_hours', sa.Double(), nullable=False),
    sa.Column('queue_log_sd', sa.Double(), nullable=False),
    sa.Column('unattended_hours', sa.Double(), nullable=False),
    sa.Column('part_on', sa.Date(), nullable=True),
    sa.Column('waits_without_day', sa.Text(), nullable=False),
    sa.Column('as_of', app.db.UtcTime(), nullable=False),
    sa.Column('finish_p50', sa.Date(), nullable=True),
    sa.Column('finish_p80', sa.Date(), nullable=True),
    sa.Column('finish_p90', sa.Date(), nullable=True),
    sa.Column('late_share', sa.Double(), nullable=True),
    sa.Column('simulated_at', app.db.UtcTime(), nullable=True),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_order_outlook_order_id_repair_order')),
    sa.PrimaryKeyConstraint('order_id', name=op.f('pk_order_outlook'))
    )
    with op.batch_alter_table('order_outlook', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_order_outlook_late_share'), ['late_share'], unique=False)

    op.create_table('hours_call',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('how', sa.Enum('agreed to more', 'stop at the limit', 'not reached', name='called', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('percent', sa.Integer(), nullable=False),
    sa.Column('spent_hours', sa.Double(), nullable=False),
    sa.Column('ceiling_minor', sa.Integer(), nullable=False),
    sa.Column('authority_id', sa.Integer(), nullable=True),
    sa.Column('reached_at', sa.Text(), server_default='', nullable=False),
    sa.Column('note', sa.Text(), server_default='', nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.CheckConstraint("(how = 'agreed to more') = (authority_id IS NOT NULL)", name=op.f('ck_hours_call_more_is_in_the_ledger')),
    sa.CheckConstraint('percent >= 0 AND spent_hours >= 0 AND ceiling_minor >= 0', name=op.f('ck_hours_call_not_negative')),
    sa.ForeignKeyConstraint(['authority_id'], ['authority.id'], name=op.f('fk_hours_call_authority_id_authority')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_hours_call_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_hours_call')),
    sa.UniqueConstraint('authority_id', name=op.f('uq_hours_call_authority_id'))
    )
    with op.batch_alter_table('hours_call', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_hours_call_order_id'), ['order_id'], unique=False)

    op.create_table('task',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('role', sa.Enum('diagnosis', 'strip-down', 'agreed item', 'way back', 'task of its own', name='role', native_enum=False, create_constraint=True, length=40), nullable=False),
    sa.Column('kind_id', sa.Integer(), nullable=False),
    sa.Column('what', sa.Text(), nullable=False),
    sa.Column('line_root_id', sa.Integer(), nullable=True),
    sa.Column('finding_id', sa.Integer(), nullable=True),
    sa.Column('hours_low', sa.Double(), nullable=True),
    sa.Column('hours_likely', sa.Double(), nullable=True),
    sa.Column('hours_high', sa.Double(), nullable=True),
    sa.Column('attended', sa.Boolean(), server_default=sa.true(), nullable=False),
    sa.Column('unattended_hours', sa.Double(), server_default='0.0', nullable=False),
    sa.Column('added_at', app.db.UtcTime(), nullable=False),
    sa.Column('added_by', sa.Text(), nullable=False),
    sa.Column('finished_at', app.db.UtcTime(), nullable=True),
    sa.Column('finished_by', sa.Text(), server_default='', nullable=False),
    sa.Column('took_hours', sa.Double(), nullable=True),
    sa.Column('log_ratio', sa.Double(), nullable=True),
    sa.Column('said_low_hours', sa.Double(), nullable=True),
    sa.Column('said_high_hours', sa.Double(), nullable=True),
    sa.Column('withdrawn_at', app.db.UtcTime(), nullable=True),
    sa.Column('withdrawn_by', sa.Text(), server_default='', nullable=False),
    sa.Column('withdrawn_reason', sa.Text(), server_default='', nullable=False),
    sa.Column('version', sa.Integer(), server_default='1', nullable=False),
    sa.CheckConstraint("(finished_at IS NULL) = (finished_by = '')", name=op.f('ck_task_finished_by_someone')),
    sa.CheckConstraint("(role = 'agreed item') = (line_root_id IS NOT NULL)", name=op.f('ck_task_item_of_a_quote')),
    sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name=op.f('ck_task_withdrawn_with_reason')),
    sa.CheckConstraint("what <> ''", name=op.f('ck_task_says_what')),
    sa.CheckConstraint('(hours_likely IS NULL) = (hours_low IS NULL) AND (hours_likely IS NULL) = (hours_high IS NULL)', name=op.f('ck_task_three_hours_or_none')),
    sa.CheckConstraint('(said_low_hours IS NULL) = (said_high_hours IS NULL)', name=op.f('ck_task_said_both_ends')),
    sa.CheckConstraint('hours_likely IS NULL OR (hours_low >= 0 AND hours_likely >= hours_low AND hours_high >= hours_likely)', name=op.f('ck_task_hours_in_order')),
    sa.CheckConstraint('unattended_hours >= 0', name=op.f('ck_task_unattended_not_negative')),
    sa.ForeignKeyConstraint(['finding_id'], ['finding.id'], name=op.f('fk_task_finding_id_finding')),
    sa.ForeignKeyConstraint(['kind_id'], ['work_kind.id'], name=op.f('fk_task_kind_id_work_kind')),
    sa.ForeignKeyConstraint(['line_root_id'], ['quote_line.id'], name=op.f('fk_task_line_root_id_quote_line')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_task_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_task')),
    sa.UniqueConstraint('order_id', 'line_root_id', name=op.f('uq_task_order_id_line_root_id'))
    )
    with op.batch_alter_table('task', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_task_finding_id'), ['finding_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_task_finished_at'), ['finished_at'], unique=False)
        batch_op.create_index(batch_op.f('ix_task_kind_id'), ['kind_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_task_line_root_id'), ['line_root_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_task_order_id'), ['order_id'], unique=False)
        batch_op.create_index('uq_task_one_of_a_role', ['order_id', 'role'], unique=True, sqlite_where=sa.text("role IN ('diagnosis', 'strip-down', 'way back')"), postgresql_where=sa.text("role IN ('diagnosis', 'strip-down', 'way back')"))

    op.create_table('task_before',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('task_id', sa.Integer(), nullable=False),
    sa.Column('first_id', sa.Integer(), nullable=False),
    sa.CheckConstraint('task_id <> first_id', name=op.f('ck_task_before_not_before_itself')),
    sa.ForeignKeyConstraint(['first_id'], ['task.id'], name=op.f('fk_task_before_first_id_task')),
    sa.ForeignKeyConstraint(['task_id'], ['task.id'], name=op.f('fk_task_before_task_id_task')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_task_before')),
    sa.UniqueConstraint('task_id', 'first_id', name=op.f('uq_task_before_task_id_first_id'))
    )
    with op.batch_alter_table('task_before', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_task_before_first_id'), ['first_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_task_before_task_id'), ['task_id'], unique=False)

    op.create_table('time_entry',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('task_id', sa.Integer(), nullable=False),
    sa.Column('step', sa.Text(), server_default='', nullable=False),
    sa.Column('person_id', sa.Integer(), nullable=True),
    sa.Column('person_name', sa.Text(), nullable=False),
    sa.Column('unattended', sa.Boolean(), server_default=sa.false(), nullable=False),
    sa.Column('started_at', app.db.UtcTime(), nullable=False),
    sa.Column('stopped_at', app.db.UtcTime(), nullable=True),
    sa.Column('stopped_by', sa.Text(), server_default='', nullable=False),
    sa.Column('allowed_by', sa.Text(), server_default='', nullable=False),
    sa.Column('takes_place_of_id', sa.Integer(), nullable=True),
    sa.Column('reason', sa.Text(), server_default='', nullable=False),
    sa.Column('entered_at', app.db.UtcTime(), nullable=False),
    sa.Column('entered_by', sa.Text(), nullable=False),
    sa.CheckConstraint("(stopped_at IS NULL) = (stopped_by = '')", name=op.f('ck_time_entry_stopped_by_someone')),
    sa.CheckConstraint("person_name <> ''", name=op.f('ck_time_entry_says_who')),
    sa.CheckConstraint("takes_place_of_id IS NULL OR (reason <> '' AND stopped_at IS NOT NULL)", name=op.f('ck_time_entry_corrected_with_reason')),
    sa.CheckConstraint('stopped_at IS NULL OR stopped_at >= started_at', name=op.f('ck_time_entry_stops_after_it_starts')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_time_entry_order_id_repair_order')),
    sa.ForeignKeyConstraint(['person_id'], ['person.id'], name=op.f('fk_time_entry_person_id_person')),
    sa.ForeignKeyConstraint(['takes_place_of_id'], ['time_entry.id'], name=op.f('fk_time_entry_takes_place_of_id_time_entry')),
    sa.ForeignKeyConstraint(['task_id'], ['task.id'], name=op.f('fk_time_entry_task_id_task')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_time_entry')),
    sa.UniqueConstraint('takes_place_of_id', name=op.f('uq_time_entry_takes_place_of_id'))
    )
    with op.batch_alter_table('time_entry', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_time_entry_order_id'), ['order_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_time_entry_person_id'), ['person_id'], unique=False)
        batch_op.create_index(batch_op.f('ix_time_entry_task_id'), ['task_id'], unique=False)
        batch_op.create_index('uq_time_entry_one_running', ['person_id'], unique=True, sqlite_where=sa.text('stopped_at IS NULL AND NOT unattended'), postgresql_where=sa.text('stopped_at IS NULL AND NOT unattended'))
        batch_op.create_index('uq_time_entry_one_unattended', ['task_id'], unique=True, sqlite_where=sa.text('stopped_at IS NULL AND unattended'), postgresql_where=sa.text('stopped_at IS NULL AND unattended'))

    with op.batch_alter_table('shop', schema=None) as batch_op:
        batch_op.add_column(sa.Column('opening_hours', sa.Text(), server_default='Mon-Fri 09:00-12:30 13:00-17:30', nullable=False))
        batch_op.add_column(sa.Column('closed_days', sa.Text(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('keeps_holidays', sa.Boolean(), server_default=sa.true(), nullable=False))
        batch_op.add_column(sa.Column('technicians', sa.Integer(), server_default='1', nullable=False))
        batch_op.add_column(sa.Column('timer_longest_hours', sa.Integer(), server_default='5', nullable=False))
        batch_op.add_column(sa.Column('bill_minutes', sa.Integer(), server_default='15', nullable=False))
        batch_op.create_check_constraint(batch_op.f('ck_shop_hours_sensible'), 'technicians BETWEEN 1 AND 20 AND timer_longest_hours BETWEEN 1 AND 24 AND bill_minutes BETWEEN 1 AND 60')

    op.execute("UPDATE order_standing SET good_until = '1970-01-01 00:00:00.000000'")
