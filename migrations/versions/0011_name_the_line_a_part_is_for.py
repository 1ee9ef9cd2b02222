"""Name the first line of a chain for what it is: a screw has a thread."""

from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for table in ("part", "quote_issued_line"):
        op.drop_index(op.f(f"ix_{table}_thread"), table)
        op.execute(f"ALTER TABLE {table} RENAME COLUMN thread TO line_root_id")
        op.create_index(op.f(f"ix_{table}_line_root_id"), table, ["line_root_id"])
    with op.batch_alter_table("part") as batch:
        batch.drop_constraint(op.f("fk_part_thread_quote_line"), type_="foreignkey")
        batch.create_foreign_key(op.f("fk_part_line_root_id_quote_line"), "quote_line", ["line_root_id"], ["id"])
