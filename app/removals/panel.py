"""What the order's page says about what came off."""

from __future__ import annotations

from typing import Any

from app.orders.models import RepairOrder
from app.removals import queries


def values(order: RepairOrder) -> dict[str, Any]:
    """How many pieces are off, lost and found, and what lies where."""
    lines = queries.lines(order)
    return {"things": len(lines), "pieces": sum(line.loose for line in lines),
            "back": sum(line.removal.ended_at is not None for line in lines),
            "untagged": sum(bool(line.untagged) and line.removal.ended_at is None for line in lines),
            "lost": len(queries.open_losses(order)), "found": len(queries.found_objects(order)),
            "unexplained": sum(piece.explained_at is None for piece in queries.found_objects(order))}
