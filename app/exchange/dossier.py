"""All that the database knows of one repair order, in one readable value."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from app.backup.verify import STORED

ORDER = "repair_order"
Row = dict[str, Any]


NAMED = {ORDER: {"id", "number", "amp_id", "depositor_id", "owner_id", "authority_id"}, "amp": {"id"}, "customer": {"id"}}


def can_be_told(tables: list[sa.Table]) -> bool:
    """Whether these tables, of an older schema perhaps, name what a repair order's value is made of."""
    there = {table.name: set(table.columns.keys()) for table in tables}
    return all(columns <= there.get(name, set()) for name, columns in NAMED.items())


class Dossiers:
    """Reads each table once, then hands out one value an order: its own rows, and the customers and amp that it names."""

    def __init__(self, connection: sa.Connection, tables: list[sa.Table],
                 shown: Callable[[sa.Table], list[sa.Column[Any]]], files: Mapping[str, str]) -> None:
        self.files = files
        self.tables = [table for table in tables if "id" in table.columns or "order_id" in table.columns]
        self.rows = {table.name: [self._plain(table, dict(row._mapping.items())) for row in connection.execute(
            sa.select(*shown(table)).order_by(*table.primary_key.columns))] for table in self.tables}
        self.owned = self._owners()

    def all(self) -> Iterator[tuple[int, Row]]:
        """Number and value of every order."""
        shared = {name: {row["id"]: row for row in self.rows[name]} for name in ("customer", "amp") if name in self.rows}
        for order in self.rows[ORDER]:
            yield order["number"], {
                "order": order,
                "amp": shared["amp"].get(order["amp_id"]),
                "people": {role: shared["customer"].get(order[f"{role}_id"]) for role in ("depositor", "owner", "authority")},
                "records": self.owned[order["id"]],
            }

    def _owners(self) -> dict[int, dict[str, list[Row]]]:
        """Rows by order and table. A row belongs where it says, or where the row it hangs on belongs."""
        by_order: dict[int, dict[str, list[Row]]] = defaultdict(dict)
        where: dict[str, dict[int, int]] = {ORDER: {row["id"]: row["id"] for row in self.rows[ORDER]}}
        for table in self.tables:
            if table.name == ORDER:
                continue
            places: dict[int, int] = {}
            for row in self.rows[table.name]:
                order = row.get("order_id") or self._through(table, row, where)
                if order is not None:
                    by_order[order].setdefault(table.name, []).append(row)
                    if "id" in row:
                        places[row["id"]] = order
            if places:
                where[table.name] = places
        return by_order

    @staticmethod
    def _through(table: sa.Table, row: Row, where: dict[str, dict[int, int]]) -> int | None:
        if "order_id" in table.columns:
            return None
        for key in table.foreign_keys:
            order = where.get(key.column.table.name, {}).get(row.get(key.parent.name) or 0)
            if order is not None:
                return order
        return None

    def _plain(self, table: sa.Table, row: Mapping[Any, Any]) -> Row:
        found: Row = {}
        for name, value in row.items():
            found[name] = value.isoformat() if isinstance(value, datetime | date) else value
            if value is not None and table.columns[name].info.get(STORED):
                found[name.removesuffix("sha256") + "file"] = self.files.get(value)
        return found
