"""The waste log."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base, words
from app.findings.rules.waste import Material


class Waste(Base):
    """Something hazardous that came out: how much, where it is kept, and to whom it went."""

    __tablename__ = "waste"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    material: Mapped[Material] = mapped_column(words(Material))
    presumed: Mapped[bool]
    quantity: Mapped[float]
    unit: Mapped[str]
    container: Mapped[str]
    note: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]
    handed_at: Mapped[datetime | None]
    handed_to: Mapped[str | None]
    handed_paper: Mapped[str] = mapped_column(default="")
    handed_by: Mapped[str | None]
    struck_at: Mapped[datetime | None]
    struck_reason: Mapped[str | None]

    __table_args__ = (
        sa.CheckConstraint("quantity > 0", name="some_of_it"),
        sa.CheckConstraint("unit <> '' AND container <> ''", name="kept_somewhere"),
        sa.CheckConstraint("(handed_at IS NULL) = (handed_to IS NULL)", name="handed_to_somebody"),
        sa.CheckConstraint("(struck_at IS NULL) = (struck_reason IS NULL)", name="struck_with_reason"),
    )
