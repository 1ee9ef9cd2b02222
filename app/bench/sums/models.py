"""Sums that were kept."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base

if TYPE_CHECKING:
    from app.orders.models import RepairOrder


class KeptSum(Base):
    """One sum as it was worked out: what was typed and meant, and what came of it. Never changed.

    `given`: by field, {"typed", "si", "unit"}. `results`: {"sentence", "figures": [{"key", "label", "value", "unit"}]}, so that a
    figure can stand as a reading's expected value.
    """

    __tablename__ = "kept_sum"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int | None] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    section: Mapped[str] = mapped_column(index=True)
    given: Mapped[dict[str, Any]] = mapped_column(sa.JSON())
    results: Mapped[dict[str, Any]] = mapped_column(sa.JSON())
    kept_by: Mapped[str]
    at: Mapped[datetime]
    note: Mapped[str] = mapped_column(default="")

    order: Mapped[RepairOrder | None] = relationship("RepairOrder")

    __table_args__ = (sa.CheckConstraint("section <> '' AND kept_by <> ''", name="says_what_and_who"),)

    @property
    def typed(self) -> dict[str, str]:
        """What was typed, by field: opens the sum again."""
        return {name: str(entry["typed"]) for name, entry in self.given.items()}

    @property
    def sentence(self) -> str:
        """What it came to."""
        return str(self.results["sentence"])
