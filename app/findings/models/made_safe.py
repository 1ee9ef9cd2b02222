"""The record that the amp was made safe before hands went in."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base


class MadeSafe(Base):
    """Volts across the supply after discharge, below the limit of that day; it holds until the amp is powered again."""

    __tablename__ = "made_safe"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    volts: Mapped[float]
    limit_volts: Mapped[float]
    across: Mapped[str]
    instrument: Mapped[str]
    how: Mapped[str]
    at: Mapped[datetime]
    by_name: Mapped[str]
    # The newest time on power before it; a later one ends it.
    last_power_id: Mapped[int | None] = mapped_column(sa.ForeignKey("power_up.id"))
    expired_at: Mapped[datetime | None]
    expired_by: Mapped[str | None]
    expired_reason: Mapped[str | None]

    __table_args__ = (
        sa.CheckConstraint("volts >= 0 AND volts < limit_volts", name="below_the_limit"),
        sa.CheckConstraint("instrument <> ''", name="with_an_instrument"),
        sa.CheckConstraint("(expired_at IS NULL) = (expired_reason IS NULL)", name="expired_with_reason"),
    )
