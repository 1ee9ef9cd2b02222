"""The table of classes of hardware. A class never changes: what was counted as one stays counted as that."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base
from app.hardware.rules import Hardware


class HardwareClass(Base):
    """One class: its kind, and of thread or diameter, length, head and finish what is known. `label` says all of it."""

    __tablename__ = "hardware_class"

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    thread: Mapped[str] = mapped_column(default="")
    length: Mapped[str] = mapped_column(default="")
    head: Mapped[str] = mapped_column(default="")
    finish: Mapped[str] = mapped_column(default="")
    label: Mapped[str] = mapped_column(unique=True)
    made_at: Mapped[datetime]
    made_by: Mapped[str]

    __table_args__ = (
        sa.UniqueConstraint("kind", "thread", "length", "head", "finish"),
        sa.CheckConstraint("kind <> ''", name="has_kind"),
    )

    @property
    def hardware(self) -> Hardware:
        return Hardware(self.kind, self.thread, self.length, self.head, self.finish)
