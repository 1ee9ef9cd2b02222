"""A shop as it was before hardware had classes and records had keys: rows written as that version wrote them, without its code."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from datetime import datetime
from typing import Any

import sqlalchemy as sa

THEN = datetime(2026, 3, 2, 9, 30)
METAL = {"chassis", "body", "front panel", "fascia"}


class OldShop:
    """Writes rows into a database of an older schema. What a row does not say and the schema has no default for is plain filler."""

    def __init__(self, connection: sa.Connection) -> None:
        self.connection = connection
        self.tables = sa.MetaData()
        self.tables.reflect(connection)

    def put(self, table: str, **given: Any) -> int:
        columns = self.tables.tables[table].columns
        filled = {one.name: _filler(one) for one in columns
                  if not one.nullable and one.server_default is None and not one.primary_key}
        row = self.connection.execute(self.tables.tables[table].insert().values({**filled, **given}))
        assert row.inserted_primary_key
        return int(row.inserted_primary_key[0])

    def order(self, number: int) -> int:
        who = self.put("customer", name="Wren Adler", phone="555 0199")
        amp = self.put("amp", maker="Tarnholt", model="Meridian 30", serial=f"M{number}")
        return self.put("repair_order", number=number, amp_id=amp, depositor_id=who, owner_id=who, authority_id=who,
                        stage="teardown")

    def removal(self, order: int, number: int, mark: str, name: str, **given: Any) -> int:
        return self.put("removal", **{"order_id": order, "number": number, "mark": mark, "name": name, "kind": "part", "under": [],
                                      "stack": [], "fasteners": {}, "lacked": {}, "ends": [], "removed_by": "Ines", **given})


def _filler(column: sa.Column[Any]) -> Any:
    kind = column.type
    if isinstance(kind, sa.JSON):
        return {}
    if isinstance(kind, sa.DateTime):
        return THEN
    if isinstance(kind, sa.Boolean):
        return False
    return 0 if isinstance(kind, sa.Integer | sa.Float) else "x"


def old_ledger(connection: sa.Connection, order: int) -> Mapping[str, Mapping[str, int]]:
    """Class → column → pieces, as that version counted them: by name in small letters. Counted here anew from its rows."""
    tables = sa.MetaData()
    tables.reflect(connection, only=["removal", "piece_entry"])
    removal, entry = tables.tables["removal"], tables.tables["piece_entry"]
    rows: defaultdict[str, Counter[str]] = defaultdict(Counter)
    off = connection.execute(sa.select(removal).where(removal.c.order_id == order, removal.c.struck_at.is_(None))).all()
    tags = {one.mark.lower() for one in off}
    for one in off:
        for piece in one.stack:
            if piece.lower() not in METAL | tags and not piece.endswith(" (captive)"):
                rows[piece.lower()]["removed"] += 1
        for name, count in one.fasteners.items():
            if count:
                rows[name]["removed"] += count
        if one.ends:
            rows["wire end"]["removed"] += len(one.ends)
    for one in connection.execute(sa.select(entry).where(entry.c.order_id == order, entry.c.struck_at.is_(None))):
        rows[one.piece][one.went] += one.count
    return {name: dict(row) for name, row in rows.items()}
