"""Profiles with their limits."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, Versioned, words
from app.electrics import bond_limit
from app.measuring.rules import Quantity, say_band
from app.safety.regimes import Regime, shipped_as
from app.safety.rules import Applies, Mark, StepKind


class Profile(Versioned, Base):
    """A set of steps and limits. One is in force. Confirmed by the owner where a limit is not seen in its source, or the
    edition that it was seen in has been replaced.
    """

    __tablename__ = "safety_profile"

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(default="")  # of the regime it ships as; empty for the shop's own
    revision: Mapped[int] = mapped_column(default=1)  # of the program's data that its steps are; see regimes.Regime
    name: Mapped[str]
    where: Mapped[str] = mapped_column(default="")
    edition: Mapped[str] = mapped_column(default="")
    edition_date: Mapped[date | None]
    copied_from_id: Mapped[int | None] = mapped_column(sa.ForeignKey("safety_profile.id"))
    confirmed_at: Mapped[datetime | None]
    confirmed_by: Mapped[str] = mapped_column(default="")
    in_force: Mapped[bool] = mapped_column(default=False)
    added_at: Mapped[datetime]
    # Up to which revision the owner has seen what changed, and kept this one with a reason.
    kept_revision: Mapped[int] = mapped_column(default=0)
    kept_at: Mapped[datetime | None]
    kept_by: Mapped[str] = mapped_column(default="")
    kept_reason: Mapped[str] = mapped_column(default="")

    steps: Mapped[list[ProfileStep]] = relationship(back_populates="profile", order_by="ProfileStep.position")
    copied_from: Mapped[Profile | None] = relationship(remote_side=[id])

    __table_args__ = (
        sa.UniqueConstraint("name", "revision"),
        sa.CheckConstraint("name <> ''", name="has_name"),
        sa.CheckConstraint("(kept_at IS NULL) = (kept_reason = '')", name="kept_with_reason"),
        sa.CheckConstraint("confirmed_at IS NULL OR (edition <> '' AND edition_date IS NOT NULL AND confirmed_by <> '')",
                           name="confirmed_with_edition"),
        sa.Index("uq_safety_profile_in_force", "in_force", unique=True, sqlite_where=sa.text("in_force"),
                 postgresql_where=sa.text("in_force")),
    )

    @property
    def is_own(self) -> bool:
        return self.key == ""

    @property
    def origin(self) -> Profile:
        """The profile that it was copied from in the first place; itself if it is no copy."""
        return self.copied_from.origin if self.copied_from is not None else self

    @property
    def shipped(self) -> Regime | None:
        """The regime that it came from, as the program ships it today."""
        return shipped_as(self.origin.key)

    @property
    def replaced(self) -> str:
        """What has replaced the edition that its limits were seen in; empty while none is known to have."""
        return self.shipped.replaced if self.shipped else ""

    @property
    def is_earlier(self) -> bool:
        """It came from the program's data as they stood before."""
        return self.shipped is not None and self.origin.revision < self.shipped.revision

    @property
    def to_look_at(self) -> bool:
        """Its limits were replaced or its steps changed, and the owner has not decided yet whether to keep it."""
        return self.shipped is not None and self.kept_revision < self.shipped.revision and (
            self.is_earlier or bool(self.replaced))

    @property
    def unconfirmed(self) -> bool:
        """Holds a limit that passes nothing until the owner has confirmed the profile."""
        return self.confirmed_at is None and (bool(self.replaced) or any(step.mark.needs_owner for step in self.steps))

    @property
    def title(self) -> str:
        return f"{self.name}, edition {self.edition}" if self.edition else self.name


class StepColumns:
    """What a step of a profile and the same step frozen in a test have in common."""

    position: Mapped[int]
    kind: Mapped[StepKind]
    title: Mapped[str]
    question: Mapped[str]
    quantity: Mapped[Quantity | None]
    lower: Mapped[float | None]
    upper: Mapped[float | None]
    condition: Mapped[str] = mapped_column(default="")
    mark: Mapped[Mark]
    source: Mapped[str]
    note: Mapped[str] = mapped_column(default="")
    least_level: Mapped[float | None]  # A through an earth, V on an insulation
    absent: Mapped[str] = mapped_column(default="")  # what may be said instead of a reading: that the amp has no such part

    @property
    def limit(self) -> str:
        return say_band(self.lower, self.upper, self.quantity.unit) if self.quantity else ""


class ProfileStep(StepColumns, Base):
    """One step of a profile; `rule` names the regime by which an earth bond's limit is computed from the lead."""

    __tablename__ = "profile_step"

    id: Mapped[int] = mapped_column(primary_key=True)
    profile_id: Mapped[int] = mapped_column(sa.ForeignKey("safety_profile.id"), index=True)
    kind: Mapped[StepKind] = mapped_column(words(StepKind))
    applies: Mapped[Applies] = mapped_column(words(Applies))
    quantity: Mapped[Quantity | None] = mapped_column(words(Quantity))
    mark: Mapped[Mark] = mapped_column(words(Mark))
    rule: Mapped[str] = mapped_column(default="")

    profile: Mapped[Profile] = relationship(back_populates="steps")

    __table_args__ = (
        sa.CheckConstraint("lower IS NULL OR upper IS NULL OR lower <= upper", name="limits_in_order"),
        sa.CheckConstraint("quantity IS NULL OR rule <> '' OR lower IS NOT NULL OR upper IS NOT NULL", name="measured_by_limits"),
        sa.CheckConstraint("source <> '' AND title <> ''", name="says_its_source"),
    )

    @property
    def limit(self) -> str:
        """Its band; for one that is computed, what it comes to with a usual lead, 3 m of 1 mm²."""
        if not self.rule:
            return super().limit
        return say_band(None, bond_limit(profile=self.rule, lead_metre=3.0, mm2=1.0), "Ω")
