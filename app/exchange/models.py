"""What was brought in from files: which file, and the past jobs and part prices that came with it."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base


class BroughtIn(Base):
    """One file that was taken in, whole."""

    __tablename__ = "brought_in"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    sha256: Mapped[str]
    what: Mapped[str]
    added: Mapped[int]
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (
        sa.CheckConstraint("what IN ('customers', 'parts', 'past-jobs')", name="what_known"),
        sa.CheckConstraint("added > 0 AND length(sha256) = 64", name="brought_something"),
    )


class PastJob(Base):
    """A task of before this program: what was estimated and what it took, in hours. Estimates are calibrated on it."""

    __tablename__ = "past_job"

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str] = mapped_column(index=True)
    estimated_hours: Mapped[float]
    actual_hours: Mapped[float]
    model: Mapped[str] = mapped_column(default="")
    finished_on: Mapped[date | None]
    brought_in_id: Mapped[int] = mapped_column(sa.ForeignKey("brought_in.id"))

    __table_args__ = (
        sa.CheckConstraint("estimated_hours > 0 AND actual_hours > 0", name="hours_above_zero"),
        sa.CheckConstraint("kind <> ''", name="has_kind"),
    )


class ListedPart(Base):
    """A part on a supplier's list, with its price before tax. A new price is a new row; the newest counts."""

    __tablename__ = "listed_part"

    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str]
    what: Mapped[str]
    supplier: Mapped[str] = mapped_column(default="")
    price_minor: Mapped[int]
    brought_in_id: Mapped[int] = mapped_column(sa.ForeignKey("brought_in.id"))

    __table_args__ = (
        sa.CheckConstraint("price_minor >= 0", name="price_not_negative"),
        sa.CheckConstraint("number <> '' AND what <> ''", name="has_number_and_name"),
        sa.Index("ix_listed_part_number_supplier", "number", "supplier"),
    )
