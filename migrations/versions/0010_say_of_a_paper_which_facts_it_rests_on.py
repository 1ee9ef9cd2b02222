"""Say of a paper which facts it rests on.

Papers that were issued before are of version 0: their fingerprint is that of their page.
"""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("issued_document", sa.Column("facts_version", sa.Integer(), nullable=False, server_default="0"))
    op.add_column("issued_document", sa.Column("draft", sa.Text(), nullable=False, server_default=""))
