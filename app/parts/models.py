"""Parts of an order."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base, Versioned, words
from app.kernel.spec import spec_of
from app.parts.rules import Arrival, Dropped, Incoming, Need, PartKind, PartState, Rating
from app.quote.rules.words import PartCondition


class Part(Versioned, Base):
    """One kind of part for one place: needed, then ordered, received, fitted; or dropped with a reason.

    `place` is what was written; the removal, board position or finding that it names has its key beside it, if it names one.
    Money in minor units before tax, for all pieces together. Ratings in volts and watts.
    """

    __tablename__ = "part"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    line_root_id: Mapped[int | None] = mapped_column(sa.ForeignKey("quote_line.id"), index=True)  # the line that calls for it
    state: Mapped[PartState] = mapped_column(words(PartState), default=PartState.NEEDED)
    what: Mapped[str]
    kind: Mapped[PartKind] = mapped_column(words(PartKind))
    quantity: Mapped[int]
    place: Mapped[str]
    removal_id: Mapped[int | None] = mapped_column(sa.ForeignKey("removal.id"), index=True)
    board_position_id: Mapped[int | None] = mapped_column(sa.ForeignKey("board_position.id"), index=True)
    finding_id: Mapped[int | None] = mapped_column(sa.ForeignKey("finding.id"), index=True)
    needed_volts: Mapped[float | None]
    needed_watts: Mapped[float | None]
    needed_reverse_volts: Mapped[float | None]
    needed_ripple_volts: Mapped[float | None]
    rating_source: Mapped[str] = mapped_column(default="")
    needed_condition: Mapped[PartCondition | None] = mapped_column(words(PartCondition, "needed_condition"))
    needed_at: Mapped[datetime]
    needed_by: Mapped[str]

    supplier: Mapped[str] = mapped_column(default="")
    ordered_minor: Mapped[int | None]
    expected_on: Mapped[date | None]
    ordered_at: Mapped[datetime | None]
    ordered_by: Mapped[str] = mapped_column(default="")

    condition: Mapped[PartCondition | None] = mapped_column(words(PartCondition, "came_in_condition"))
    batch: Mapped[str] = mapped_column(default="")
    rated_volts: Mapped[float | None]
    rated_watts: Mapped[float | None]
    test: Mapped[Incoming | None] = mapped_column(words(Incoming))
    test_words: Mapped[str] = mapped_column(default="")
    charged_minor: Mapped[int | None]
    received_at: Mapped[datetime | None]
    received_by: Mapped[str] = mapped_column(default="")

    fitted_place: Mapped[str] = mapped_column(default="")
    fitted_at: Mapped[datetime | None]
    fitted_by: Mapped[str] = mapped_column(default="")
    dropped_how: Mapped[Dropped | None] = mapped_column(words(Dropped, "dropped_how"))
    dropped_reason: Mapped[str] = mapped_column(default="")
    dropped_at: Mapped[datetime | None]
    dropped_by: Mapped[str] = mapped_column(default="")
    again_of_id: Mapped[int | None] = mapped_column(sa.ForeignKey("part.id"), unique=True)  # the dropped one that it is got for

    __table_args__ = (
        sa.CheckConstraint("what <> '' AND place <> ''", name="says_what_and_where"),
        sa.CheckConstraint("quantity >= 1", name="at_least_one"),
        sa.CheckConstraint(" + ".join(f"CASE WHEN {key} IS NULL THEN 0 ELSE 1 END" for key in
                                      ("removal_id", "board_position_id", "finding_id")) + " <= 1", name="one_place"),
        sa.CheckConstraint("COALESCE(ordered_minor, 0) >= 0 AND COALESCE(charged_minor, 0) >= 0", name="money_not_negative"),
        sa.CheckConstraint("(needed_volts IS NULL OR needed_volts > 0) AND (needed_watts IS NULL OR needed_watts > 0)",
                           name="needed_rating_positive"),
        sa.CheckConstraint("(needed_reverse_volts IS NULL OR needed_reverse_volts > 0) AND (needed_ripple_volts IS NULL OR "
                           "needed_ripple_volts > 0)", name="needed_reverse_and_ripple_positive"),
        sa.CheckConstraint("received_at IS NULL OR state = 'dropped' OR needed_reverse_volts IS NULL OR (rated_volts IS NOT NULL "
                           "AND rated_volts >= needed_reverse_volts)", name="rated_for_its_reverse_volts"),
        sa.CheckConstraint("state <> 'ordered' OR (ordered_at IS NOT NULL AND supplier <> '' AND ordered_minor IS NOT NULL)",
                           name="ordered_somewhere"),
        sa.CheckConstraint("state NOT IN ('received', 'fitted') OR (received_at IS NOT NULL AND charged_minor IS NOT NULL "
                           "AND condition IS NOT NULL AND test IS NOT NULL)", name="received_and_looked_at"),
        sa.CheckConstraint("received_at IS NULL OR state = 'dropped' OR ((needed_volts IS NULL OR (rated_volts IS NOT NULL AND "
                           "rated_volts >= needed_volts)) AND (needed_watts IS NULL OR (rated_watts IS NOT NULL AND rated_watts >= "
                           "needed_watts)))", name="rated_for_its_place"),
        sa.CheckConstraint("(state = 'fitted') = (fitted_at IS NOT NULL)", name="fitted_has_time"),
        sa.CheckConstraint("state <> 'fitted' OR (test <> 'failed' AND fitted_place <> '')", name="fitted_is_good"),
        sa.CheckConstraint("(state = 'dropped') = (dropped_at IS NOT NULL) AND (state = 'dropped') = (dropped_reason <> '')",
                           name="dropped_with_reason"),
        sa.CheckConstraint("(state = 'dropped') = (dropped_how IS NOT NULL)", name="dropped_somehow"),
    )

    @property
    def place_id(self) -> int | None:
        """The record that its place names, of whichever kind."""
        return self.removal_id or self.board_position_id or self.finding_id

    @property
    def need(self) -> Need:
        rating = Rating(self.needed_volts, self.needed_watts, self.needed_reverse_volts, self.needed_ripple_volts)
        return Need(**{name: getattr(self, name) for name in spec_of(Need)}, rating=rating, condition=self.needed_condition)

    @property
    def typed_source(self) -> str:
        """Where its rating comes from, as far as no kept calculation stands for it: those are named with their link."""
        return "; ".join(told for told in self.rating_source.split("; ") if not told.startswith("calculated "))

    @property
    def arrival(self) -> Arrival | None:
        if self.received_at is None or self.condition is None or self.test is None or self.charged_minor is None:
            return None
        return Arrival(self.condition, Rating(self.rated_volts, self.rated_watts), self.batch, self.test, self.test_words,
                       self.charged_minor)

    @property
    def is_customers(self) -> bool:
        return PartCondition.CUSTOMERS in (self.condition, self.needed_condition)

    @property
    def is_open(self) -> bool:
        """Still to come, to be tested or to be fitted."""
        return self.state not in (PartState.FITTED, PartState.DROPPED)

    @property
    def failed(self) -> bool:
        return self.test is Incoming.FAILED

    @property
    def title(self) -> str:
        return f"{self.quantity} × {self.what}" if self.quantity > 1 else self.what

    @property
    def cost_minor(self) -> int:
        """What it is bound to be charged at: as received, else as ordered; one that was dropped or that failed costs nothing."""
        if self.state is PartState.DROPPED or self.failed:
            return 0
        return self.charged_minor if self.charged_minor is not None else self.ordered_minor or 0
