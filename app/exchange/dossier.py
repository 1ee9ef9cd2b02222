"""All that the database knows of one repair order, in one readable value."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from app.backup.verify import STORED
from app.exchange.scratch import AT_ONCE, Scratch

ORDER = "repair_order"
Row = dict[str, Any]


NAMED = {ORDER: {"id", "number", "amp_id", "depositor_id", "owner_id", "authority_id"}, "amp": {"id"}, "customer": {"id"}}
SHARED = ("amp", "customer")  # several orders may name one


def can_be_told(tables: list[sa.Table]) -> bool:
    """Whether these tables, of an older schema perhaps, name what a repair order's value is made of."""
    there = {table.name: set(table.columns.keys()) for table in tables}
    return all(columns <= there.get(name, set()) for name, columns in NAMED.items())


class Dossiers:
    """Reads each table once, a batch at a time, and lays every row by its order; then hands out one value an order: its own rows,
    and the customers and amp that it names. No table is ever whole in memory."""

    def __init__(self, connection: sa.Connection, tables: list[sa.Table],
                 shown: Callable[[sa.Table], list[sa.Column[Any]]], scratch: Scratch) -> None:
        self._connection, self._shown, self._scratch = connection, shown, scratch
        self._tables = {table.name: table for table in tables if "id" in table.columns or "order_id" in table.columns}
        for order in self._rows(self._tables[ORDER]):
            scratch.place(ORDER, order["id"], order["id"])
        for table in self._tables.values():
            if table.name != ORDER:
                self._lay(table)
        scratch.in_order()

    def all(self) -> Iterator[tuple[int, Row]]:
        """Number and value of every order."""
        for order in self._rows(self._tables[ORDER]):
            records: dict[str, list[Row]] = {}
            for name, row in self._scratch.rows_of(order["id"]):
                records.setdefault(name, []).append(row)
            yield order["number"], {
                "order": order,
                "amp": self._scratch.shared("amp", order["amp_id"]),
                "people": {role: self._scratch.shared("customer", order[f"{role}_id"])
                           for role in ("depositor", "owner", "authority")},
                "records": records,
            }

    def _lay(self, table: sa.Table) -> None:
        """A row belongs where it says, or where the row it hangs on belongs."""
        for row in self._rows(table):
            if table.name in SHARED:
                self._scratch.share(table.name, row["id"], row)
            order_id = row.get("order_id") or self._through(table, row)
            if order_id is not None:
                self._scratch.add(order_id, table.name, row)
                if "id" in row:
                    self._scratch.place(table.name, row["id"], order_id)

    def _through(self, table: sa.Table, row: Row) -> int | None:
        if "order_id" in table.columns:
            return None
        for key in table.foreign_keys:
            order_id = self._scratch.order_of(key.column.table.name, row.get(key.parent.name) or 0)
            if order_id is not None:
                return order_id
        return None

    def _rows(self, table: sa.Table) -> Iterator[Row]:
        asked = sa.select(*self._shown(table)).order_by(*table.primary_key.columns).execution_options(yield_per=AT_ONCE)
        for row in self._connection.execute(asked):
            yield self._plain(table, row._mapping)

    def _plain(self, table: sa.Table, row: Mapping[Any, Any]) -> Row:
        found: Row = {}
        for name, value in row.items():
            found[name] = value.isoformat() if isinstance(value, datetime | date) else value
            if value is not None and table.columns[name].info.get(STORED):
                found[name.removesuffix("sha256") + "file"] = self._scratch.file(value)
        return found
