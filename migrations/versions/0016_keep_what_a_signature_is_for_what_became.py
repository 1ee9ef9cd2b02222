"""Keep what a signature is for, what became of a part, and that a label is tied.

A part that was dropped before had its reason and how the work was planned then: it is needed no more. An order that had ended
stands nowhere: its place is where it was. What every open order waits for is worked out anew, because its gates ask for more.
"""

import sqlalchemy as sa
from alembic import op

import app.db

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table('label_tied',
    sa.Column('id', sa.Integer(), nullable=False),
    sa.Column('order_id', sa.Integer(), nullable=False),
    sa.Column('document_id', sa.Integer(), nullable=False),
    sa.Column('at', app.db.UtcTime(), nullable=False),
    sa.Column('by_name', sa.Text(), nullable=False),
    sa.ForeignKeyConstraint(['document_id'], ['issued_document.id'], name=op.f('fk_label_tied_document_id_issued_document')),
    sa.ForeignKeyConstraint(['order_id'], ['repair_order.id'], name=op.f('fk_label_tied_order_id_repair_order')),
    sa.PrimaryKeyConstraint('id', name=op.f('pk_label_tied')),
    sa.UniqueConstraint('document_id', name=op.f('uq_label_tied_document_id'))
    )
    with op.batch_alter_table('label_tied', schema=None) as batch_op:
        batch_op.create_index(batch_op.f('ix_label_tied_order_id'), ['order_id'], unique=False)

    with op.batch_alter_table('part', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('ck_part_rated_for_its_place'), type_='check')
        batch_op.add_column(sa.Column('dropped_how', sa.String(length=40), nullable=True))
        batch_op.add_column(sa.Column('again_of_id', sa.Integer(), nullable=True))
        batch_op.create_unique_constraint(batch_op.f('uq_part_again_of_id'), ['again_of_id'])
        batch_op.create_foreign_key(batch_op.f('fk_part_again_of_id_part'), 'part', ['again_of_id'], ['id'])

    op.execute("UPDATE part SET dropped_how = 'not needed: planned without it' WHERE state = 'dropped'")
    with op.batch_alter_table('part', schema=None) as batch_op:
        batch_op.create_check_constraint(batch_op.f('ck_part_dropped_how'),
            "dropped_how IN ('the order was cancelled', 'it came and was sent back', 'not needed: planned without it')")
        batch_op.create_check_constraint(batch_op.f('ck_part_dropped_somehow'), "(state = 'dropped') = (dropped_how IS NOT NULL)")
        batch_op.create_check_constraint(batch_op.f('ck_part_rated_for_its_place'),
            "received_at IS NULL OR state = 'dropped' OR ((needed_volts IS NULL OR (rated_volts IS NOT NULL AND "
            "rated_volts >= needed_volts)) AND (needed_watts IS NULL OR (rated_watts IS NOT NULL AND rated_watts "
            ">= needed_watts)))")

    with op.batch_alter_table('quote_authorisation', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('ck_quote_authorisation_signature_kept'), type_='check')
        batch_op.add_column(sa.Column('typed', sa.Boolean(), server_default=sa.false(), nullable=False))
        batch_op.create_check_constraint(batch_op.f('ck_quote_authorisation_signature_kept'),
            "channel <> 'signature' OR signature <> '' OR on_paper OR typed")

    with op.batch_alter_table('repair_order', schema=None) as batch_op:
        batch_op.add_column(sa.Column('left_shelf', sa.Text(), server_default='', nullable=False))
    op.execute("UPDATE repair_order SET left_shelf = shelf, shelf = '' WHERE ended_as IS NOT NULL AND shelf <> ''")
    with op.batch_alter_table('repair_order', schema=None) as batch_op:
        batch_op.create_check_constraint(batch_op.f('ck_repair_order_left_a_shelf'), "left_shelf = '' OR ended_as IS NOT NULL")

    with op.batch_alter_table('return_signature', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('ck_return_signature_return_signed'), type_='check')
        batch_op.add_column(sa.Column('facts_sha256', sa.Text(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('facts_version', sa.Integer(), server_default='0', nullable=False))
        batch_op.create_check_constraint(batch_op.f('ck_return_signature_return_signed'),
            "how IN ('on the screen', 'on paper', 'typed, in person')")

    with op.batch_alter_table('unrepaired_acknowledgement', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('ck_unrepaired_acknowledgement_acknowledged'), type_='check')
        batch_op.add_column(sa.Column('facts_sha256', sa.Text(), server_default='', nullable=False))
        batch_op.add_column(sa.Column('facts_version', sa.Integer(), server_default='0', nullable=False))
        batch_op.create_check_constraint(batch_op.f('ck_unrepaired_acknowledgement_acknowledged'),
            "how IN ('signed on the screen', 'signed on paper', 'typed, in person', 'refused to sign')")

    with op.batch_alter_table('declined_work', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('ck_declined_work_howacknowledged'), type_='check')
        batch_op.create_check_constraint(batch_op.f('ck_declined_work_howacknowledged'),
            "how IN ('signed on the screen', 'signed on paper', 'typed, in person', 'refused to sign')")

    with op.batch_alter_table('terms_acceptance', schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f('ck_terms_acceptance_howsigned'), type_='check')
        batch_op.create_check_constraint(batch_op.f('ck_terms_acceptance_howsigned'),
            "how IN ('on the screen', 'on paper', 'typed, in person')")

    op.execute("UPDATE order_standing SET good_until = '1970-01-01 00:00:00.000000'")
