"""Calculations that were kept, and what rests on them."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, words
from app.kept.rules import KeptFigure, Purpose

if TYPE_CHECKING:
    from app.orders.models import RepairOrder

_NUMBERS = (int, float)


class KeptSum(Base):
    """One sum as it was worked out: what was typed and meant, and what came of it.

    What it says is never changed: another one replaces it, or it is withdrawn with a reason, and what rests on it is marked.
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
    replaces_id: Mapped[int | None] = mapped_column(sa.ForeignKey("kept_sum.id"), unique=True)
    withdrawn_at: Mapped[datetime | None]
    withdrawn_by: Mapped[str] = mapped_column(default="")
    withdrawn_reason: Mapped[str] = mapped_column(default="")

    order: Mapped[RepairOrder | None] = relationship("RepairOrder")
    replaces: Mapped[KeptSum | None] = relationship(remote_side=[id], back_populates="replaced_by")
    replaced_by: Mapped[KeptSum | None] = relationship(back_populates="replaces", uselist=False)

    __table_args__ = (
        sa.CheckConstraint("section <> '' AND kept_by <> ''", name="says_what_and_who"),
        sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name="withdrawn_with_reason"),
    )

    @property
    def typed(self) -> dict[str, str]:
        """What was typed, by field: opens the sum again."""
        return {name: str(entry["typed"]) for name, entry in self.given.items()}

    @property
    def sentence(self) -> str:
        """What it came to."""
        return str(self.results["sentence"])

    @property
    def figures(self) -> tuple[KeptFigure, ...]:
        """The numbers that came of it; what it says in words is left out."""
        return tuple(KeptFigure(one["key"], one["label"], float(one["value"]), one["unit"]) for one in self.results["figures"]
                     if isinstance(one["value"], _NUMBERS))

    @property
    def stands(self) -> bool:
        """Neither replaced nor withdrawn."""
        return self.withdrawn_at is None and self.replaced_by is None

    @property
    def in_its_place(self) -> KeptSum | None:
        """The calculation that stands in place of this one now; None where the last of them was withdrawn."""
        last = self
        while last.replaced_by is not None:
            last = last.replaced_by
        return last if last.withdrawn_at is None else None

    @property
    def ended_at(self) -> datetime | None:
        """When it was replaced or withdrawn."""
        return self.withdrawn_at or (self.replaced_by.at if self.replaced_by else None)

    @property
    def end_words(self) -> str:
        """How it ended, without the day: 'changed by Ines', 'withdrawn by Ines: wrong winding'."""
        if self.withdrawn_at is not None:
            return f"withdrawn by {self.withdrawn_by}: {self.withdrawn_reason}"
        return f"changed by {self.replaced_by.kept_by}" if self.replaced_by else ""


class SumUse(Base):
    """One figure of a kept sum that the order took: for a part's place, a point, or (neither) its discharge.

    `said`: the sum's title and figure as they were. Ended by the next use for the same thing, or when it was entered otherwise.
    """

    __tablename__ = "sum_use"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    sum_id: Mapped[int] = mapped_column(sa.ForeignKey("kept_sum.id"), index=True)
    purpose: Mapped[Purpose] = mapped_column(words(Purpose))
    figure: Mapped[str]
    value: Mapped[float]
    unit: Mapped[str]
    said: Mapped[str]
    part_id: Mapped[int | None] = mapped_column(sa.ForeignKey("part.id"), index=True)
    point_id: Mapped[int | None] = mapped_column(sa.ForeignKey("point.id"), index=True)
    at: Mapped[datetime]
    by_name: Mapped[str]
    ended_at: Mapped[datetime | None]

    kept: Mapped[KeptSum] = relationship()

    @property
    def figure_now(self) -> KeptFigure | None:
        """The same figure of the calculation that stands in its place; None where none does."""
        stands = self.kept.in_its_place
        return next((one for one in stands.figures if one.key == self.figure), None) if stands else None

    __table_args__ = (
        sa.CheckConstraint("figure <> '' AND said <> '' AND by_name <> ''", name="says_what_and_who"),
        sa.CheckConstraint("(part_id IS NOT NULL) = (purpose IN ('worst-case voltage', 'worst-case power', 'reverse voltage', "
                           "'ripple'))", name="part_where_one_is_meant"),
        sa.CheckConstraint("(point_id IS NOT NULL) = (purpose = 'expected value')", name="point_where_one_is_meant"),
    )
