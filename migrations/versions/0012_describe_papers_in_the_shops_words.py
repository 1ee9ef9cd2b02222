"""Describe papers in the shop's own words: a shop that says tube finds an estimate by that word. The index is filled again."""

from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("DELETE FROM search_entry")
