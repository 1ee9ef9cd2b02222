"""What a draft must also see: changed CHECKs and words of a closed list, and columns that rows of before could not fill.

Alembic compares tables, columns, keys, indexes and defaults. Here its draft is finished: CHECKs are compared by their text
with those of a sketch, an empty database made from the models; a closed list's CHECK is told by its name, because SQLite and
PostgreSQL would otherwise name it differently; and a column that is never empty is asked what old rows have in it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import sqlalchemy as sa
from alembic.autogenerate import renderers
from alembic.autogenerate.api import AutogenContext
from alembic.operations import ops
from sqlalchemy.sql.elements import conv

from app import tables
from app.errors import BadInput


class Fill(ops.MigrateOperation):
    """Where the UPDATE is written by hand that fills new columns, and after which they are never empty."""

    def __init__(self, table: str, columns: list[str]) -> None:
        self.table, self.columns = table, columns


@renderers.dispatch_for(Fill)
def _fill(context: AutogenContext, op: Fill) -> list[str]:
    context.imports.add("from migrations import steps")
    names = ", ".join(f'"{name}"' for name in op.columns)
    return [f"# Write here the UPDATE that fills {' and '.join(op.columns)} in the rows of before.",
            f'steps.never_empty("{op.table}", {names})']


def render(kind: str, what: Any, _context: AutogenContext) -> str | bool:
    """True and false are told so that both engines understand them."""
    if kind == "server_default" and isinstance(what, sa.DefaultClause):
        for value, name in ((sa.true(), "sa.true()"), (sa.false(), "sa.false()")):
            if isinstance(what.arg, type(value)):
                return name
    return False


def other_default(context: Any, _there: object, _wanted: object, before: str | None, default: sa.DefaultClause | None,
                  _told: object) -> bool:
    """Whether the model's default is another than the one that SQLite tells: compared as each is written in a table's DDL."""
    if default is None or before is None:
        return default is not before
    compiler = context.dialect.ddl_compiler(context.dialect, None)
    return bool(compiler.render_default_string(default.arg) != before.removeprefix("(").removesuffix(")"))


def finish(context: Any, _revision: object, directives: list[ops.MigrationScript]) -> None:
    """Complete what Alembic drafted. BadInput, before anything is written, for what no old row can answer."""
    drafted = directives[0].upgrade_ops
    if drafted is None:
        raise TypeError("a draft has operations")
    to_fill = dict.fromkeys(context.config.attributes.get("fill", ()), False)
    dropped, made = _checks(context.connection)
    finished: list[ops.MigrateOperation] = []
    for op in drafted.ops:
        if not isinstance(op, ops.ModifyTableOps):
            finished.append(op)
            continue
        table = op.table_name
        op.ops = [_plain(one) for one in op.ops]
        finished += _table(table, op.ops, dropped.pop(table, []), made.pop(table, []), to_fill)
    for table in sorted(dropped.keys() | made.keys()):
        finished += _table(table, [], dropped.get(table, []), made.get(table, []), to_fill)
    if unknown := [name for name, found in to_fill.items() if not found]:
        raise BadInput(f"--fill {unknown[0]}: that is no column which this draft adds, or makes never empty.")
    drafted.ops = finished


def _table(table: str, changes: list[Any], dropped: list[str], made: list[tuple[str, str]],
           to_fill: dict[str, bool]) -> Iterable[ops.MigrateOperation]:
    """One table's operations: old CHECKs off, columns and keys, what is filled by hand, new CHECKs on."""
    filled = list(_to_be_filled(table, changes, to_fill))
    first: list[Any] = [ops.DropConstraintOp(conv(name), table, type_="check") for name in dropped]
    first += [one for one in changes if not (isinstance(one, ops.AlterColumnOp) and one.column_name in filled)]
    last = [ops.CreateCheckConstraintOp(conv(name), table, text) for name, text in made]
    if not filled:
        yield ops.ModifyTableOps(table, first + last)
        return
    if first:
        yield ops.ModifyTableOps(table, first)
    yield Fill(table, filled)
    if last:
        yield ops.ModifyTableOps(table, last)


def _to_be_filled(table: str, changes: list[Any], to_fill: dict[str, bool]) -> Iterable[str]:
    """The columns that get a value by hand. BadInput for one that would need it and was not named."""
    for one in changes:
        if isinstance(one, ops.AddColumnOp):
            name, asks = one.column.name, not one.column.nullable and one.column.server_default is None
        elif isinstance(one, ops.AlterColumnOp):
            name, asks = one.column_name, one.modify_nullable is False
        else:
            continue
        place = f"{table}.{name}"
        if place in to_fill:
            to_fill[place] = True
            if isinstance(one, ops.AddColumnOp):
                one.column.nullable = True
            yield name
        elif asks:
            raise BadInput(f"{place} is never empty, and rows that are there already have nothing for it. Give it a plain default "
                           f"in its model; or let it be empty (`| None`); or fill it from what is known: draft with --fill {place} "
                           "and write the UPDATE where the draft says so.")


def _plain(change: Any) -> Any:
    """A new column with a closed list of words is added as text: the CHECK that holds the list comes by its name."""
    if isinstance(change, ops.AddColumnOp):
        column = change.column
        kind = sa.String(column.type.length) if isinstance(column.type, sa.Enum) else column.type
        return ops.AddColumnOp(change.table_name, sa.Column(column.name, kind, nullable=column.nullable,
                                                            server_default=column.server_default))
    return change


def _checks(connection: sa.Connection) -> tuple[dict[str, list[str]], dict[str, list[tuple[str, str]]]]:
    """By table: names of CHECKs that go or change, and name and text of those that come or have changed."""
    sketch = sa.create_engine("sqlite://")
    tables.metadata.create_all(sketch)
    dropped: dict[str, list[str]] = {}
    made: dict[str, list[tuple[str, str]]] = {}
    there, wanted = sa.inspect(connection), sa.inspect(sketch)
    for table in set(there.get_table_names()) & set(wanted.get_table_names()):
        before, after = _told(there, table), _told(wanted, table)
        if gone := [name for name in before if after.get(name) != before[name]]:
            dropped[table] = gone
        if new := [(name, text) for name, text in after.items() if before.get(name) != text]:
            made[table] = new
    sketch.dispose()
    return dropped, made


def _told(inspector: sa.Inspector, table: str) -> dict[str, str]:
    return {one["name"] or "": one["sqltext"] for one in inspector.get_check_constraints(table)}
