"""Tables of the removal ledger: what came off, where each piece went, what was found and what got lost."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, declared_attr, mapped_column, relationship

from app.db import Base, Versioned, words
from app.hardware.models import HardwareClass
from app.removals.rules import Explained, Fate, Kind, OldPart, Outcome, PieceUse, Side, Tie, Went, WireEnd
from app.removals.stacks import Stack


class Removal(Versioned, Base):
    """One thing that came off, numbered in the order of coming off, or that is new. `mark` is what its tag says and stays.

    `ties` name the removals that it was under, and what it is fixed to where that came off too (a shared fixing holds
    several); `fixed_to` is what was written, which may be a thing that stays. `stack` its pieces outer to inner, `stack_times`
    how many such stacks, `other_stacks` those that differ; `pieces` other loose pieces, and what was missing or wrong when it
    came off, by class. `cavity`: the space it lies in; `closes`: the one it closes. Struck when recorded in error.
    """

    __tablename__ = "removal"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    number: Mapped[int]
    mark: Mapped[str]
    name: Mapped[str]
    kind: Mapped[Kind] = mapped_column(words(Kind))
    unit: Mapped[str] = mapped_column(default="")
    place: Mapped[str] = mapped_column(default="")
    cavity: Mapped[str] = mapped_column(default="")
    closes: Mapped[str] = mapped_column(default="")
    side: Mapped[Side | None] = mapped_column(words(Side))
    fixed_to: Mapped[str] = mapped_column(default="")
    stack: Mapped[list[str]] = mapped_column(sa.JSON)
    stack_times: Mapped[int] = mapped_column(default=1)
    other_stacks: Mapped[list[dict[str, Any]]] = mapped_column(sa.JSON)
    thread: Mapped[str] = mapped_column(default="")
    ends: Mapped[list[dict[str, Any]]] = mapped_column(sa.JSON)
    keyed: Mapped[bool] = mapped_column(default=False)
    orientation: Mapped[str] = mapped_column(default="")
    stays_on_loom: Mapped[bool] = mapped_column(default=False)
    bag: Mapped[str] = mapped_column(default="")
    fate: Mapped[Fate] = mapped_column(words(Fate), default=Fate.REFIT)
    fate_reason: Mapped[str] = mapped_column(default="")
    old_part: Mapped[OldPart | None] = mapped_column(words(OldPart))
    minutes: Mapped[float] = mapped_column(default=0.0)
    unattended_minutes: Mapped[float] = mapped_column(default=0.0)
    note: Mapped[str] = mapped_column(default="")
    photo_id: Mapped[int | None] = mapped_column(sa.ForeignKey("photo.id"))
    removed_at: Mapped[datetime]
    removed_by: Mapped[str]
    ended_as: Mapped[Outcome | None] = mapped_column(words(Outcome))
    ended_at: Mapped[datetime | None]
    ended_by: Mapped[str | None]
    struck_at: Mapped[datetime | None]
    struck_by: Mapped[str | None]
    struck_reason: Mapped[str] = mapped_column(default="")

    ties: Mapped[list[RemovalTie]] = relationship(foreign_keys="RemovalTie.removal_id", lazy="selectin", order_by="RemovalTie.id")
    pieces: Mapped[list[RemovalPiece]] = relationship(lazy="selectin", order_by="RemovalPiece.id")

    __table_args__ = (
        sa.UniqueConstraint("order_id", "number"),
        sa.UniqueConstraint("order_id", "mark"),
        sa.CheckConstraint("number > 0", name="number_positive"),
        sa.CheckConstraint("mark <> '' AND name <> ''", name="has_mark_and_name"),
        sa.CheckConstraint("NOT keyed OR orientation <> ''", name="keyed_says_how"),
        sa.CheckConstraint("stack_times > 0", name="some_stacks"),
        sa.CheckConstraint("minutes >= 0 AND unattended_minutes >= 0", name="minutes_not_negative"),
        sa.CheckConstraint("(fate = 'replace') = (old_part IS NOT NULL)", name="old_part_when_replaced"),
        sa.CheckConstraint("(ended_as IS NULL) = (ended_at IS NULL) AND (ended_as IS NULL) = (ended_by IS NULL)",
                           name="ended_has_time"),
        sa.CheckConstraint("(struck_at IS NULL) = (struck_reason = '')", name="struck_with_reason"),
        sa.CheckConstraint("struck_at IS NULL OR ended_at IS NULL", name="struck_before_ended"),
    )

    @property
    def title(self) -> str:
        """Its name with its tag, once."""
        return self.name if self.mark.lower() in self.name.lower().split() else f"{self.name} {self.mark}"

    @property
    def under(self) -> list[str]:
        """Tags of what it was under."""
        return [tie.to.mark for tie in self.ties if tie.how is Tie.UNDER and tie.struck_at is None]

    @property
    def holders(self) -> list[Removal]:
        """What it is fixed to, of what came off too; a shared fixing holds several."""
        return [tie.to for tie in self.ties if tie.how is Tie.FIXED and tie.struck_at is None]

    @property
    def held_by(self) -> Removal | None:
        """What it is fixed to, if that came off too; the first of several."""
        return next(iter(self.holders), None)

    @property
    def stacks(self) -> tuple[Stack, ...]:
        """Every stack of it, the first one first."""
        first = (Stack(self.stack_times, tuple(self.stack)),) if self.stack else ()
        return first + tuple(Stack(one["times"], tuple(one["pieces"])) for one in self.other_stacks)

    @property
    def fasteners(self) -> dict[str, int]:
        """Its loose pieces beside the stack, by class."""
        return self._counts(PieceUse.LOOSE)

    @property
    def lacked(self) -> dict[str, int]:
        """What was missing or wrong when it came off, by class."""
        return self._counts(PieceUse.LACKED)

    def _counts(self, use: PieceUse) -> dict[str, int]:
        return {one.hardware.label: one.count for one in self.pieces if one.use is use and one.count}

    @property
    def wire_ends(self) -> tuple[WireEnd, ...]:
        return tuple(WireEnd(**one) for one in self.ends)


class RemovalTie(Base):
    """One removal was under another, or is fixed to it. Struck when a correction took it back."""

    __tablename__ = "removal_tie"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    removal_id: Mapped[int] = mapped_column(sa.ForeignKey("removal.id"), index=True)
    to_id: Mapped[int] = mapped_column(sa.ForeignKey("removal.id"), index=True)
    how: Mapped[Tie] = mapped_column(words(Tie))
    at: Mapped[datetime]
    by_name: Mapped[str]
    struck_at: Mapped[datetime | None]

    to: Mapped[Removal] = relationship(foreign_keys=to_id)

    __table_args__ = (
        sa.CheckConstraint("removal_id <> to_id", name="two_removals"),
        sa.Index("uq_removal_tie_standing", "removal_id", "to_id", "how", unique=True,
                 sqlite_where=sa.text("struck_at IS NULL"), postgresql_where=sa.text("struck_at IS NULL")),
    )


class RemovalPiece(Base):
    """So many pieces of one class: loose beside the stack, or missing when it came off. 0 once a correction took them back."""

    __tablename__ = "removal_piece"

    id: Mapped[int] = mapped_column(primary_key=True)
    removal_id: Mapped[int] = mapped_column(sa.ForeignKey("removal.id"))
    use: Mapped[PieceUse] = mapped_column(words(PieceUse))
    hardware_class_id: Mapped[int] = mapped_column(sa.ForeignKey("hardware_class.id"), index=True)
    count: Mapped[int]

    hardware: Mapped[HardwareClass] = relationship(lazy="joined", innerjoin=True)

    __table_args__ = (
        sa.UniqueConstraint("removal_id", "use", "hardware_class_id"),
        sa.CheckConstraint("count >= 0", name="count_not_negative"),
    )


class Counted:
    """Is of one class of hardware."""

    hardware_class_id: Mapped[int] = mapped_column(sa.ForeignKey("hardware_class.id"), index=True)

    @declared_attr
    def hardware(cls) -> Mapped[HardwareClass]:  # noqa: N805 - SQLAlchemy calls it with the class
        return relationship(HardwareClass, lazy="joined", innerjoin=True)

    @property
    def piece(self) -> str:
        """Its class in words."""
        return self.hardware.label


class PieceEntry(Counted, Base):
    """Some pieces of one class newly issued, or gone one way. Struck with a reason when wrong, never changed.

    `at_end`: written when its removal ended, so that reopening the removal takes it back.
    """

    __tablename__ = "piece_entry"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    removal_id: Mapped[int | None] = mapped_column(sa.ForeignKey("removal.id"), index=True)
    went: Mapped[Went] = mapped_column(words(Went))
    count: Mapped[int]
    note: Mapped[str] = mapped_column(default="")
    at_end: Mapped[bool] = mapped_column(default=False)
    at: Mapped[datetime]
    by_name: Mapped[str]
    struck_at: Mapped[datetime | None]
    struck_by: Mapped[str | None]
    struck_reason: Mapped[str] = mapped_column(default="")

    removal: Mapped[Removal | None] = relationship()

    __table_args__ = (
        sa.CheckConstraint("count > 0", name="count_positive"),
        sa.CheckConstraint("(struck_at IS NULL) = (struck_reason = '')", name="struck_with_reason"),
    )


class FoundObject(Counted, Versioned, Base):
    """A loose thing that turned up inside. Explained once it is known where it belongs, or that it is not of this amp."""

    __tablename__ = "found_object"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    place: Mapped[str] = mapped_column(default="")
    note: Mapped[str] = mapped_column(default="")
    photo_id: Mapped[int | None] = mapped_column(sa.ForeignKey("photo.id"))
    found_at: Mapped[datetime]
    found_by: Mapped[str]
    explained_as: Mapped[Explained | None] = mapped_column(words(Explained))
    explained_words: Mapped[str] = mapped_column(default="")
    explained_at: Mapped[datetime | None]
    explained_by: Mapped[str | None]
    removal_id: Mapped[int | None] = mapped_column(sa.ForeignKey("removal.id"), index=True)

    removal: Mapped[Removal | None] = relationship()

    __table_args__ = (
        sa.CheckConstraint("(explained_as IS NULL) = (explained_at IS NULL)", name="explained_has_time"),
        sa.CheckConstraint("explained_as IS NULL OR explained_as <> 'a place of this amp' OR removal_id IS NOT NULL",
                           name="place_is_named"),
    )


class LostPiece(Counted, Versioned, Base):
    """A piece that got lost on the bench. Nothing is closed until it is found, or a search is countersigned by a second person."""

    __tablename__ = "lost_piece"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    removal_id: Mapped[int | None] = mapped_column(sa.ForeignKey("removal.id"), index=True)
    circumstances: Mapped[str] = mapped_column(default="")
    lost_at: Mapped[datetime]
    lost_by: Mapped[str]
    found_at: Mapped[datetime | None]
    found_by: Mapped[str | None]
    found_words: Mapped[str] = mapped_column(default="")
    search_words: Mapped[str] = mapped_column(default="")
    searched_at: Mapped[datetime | None]
    searched_by: Mapped[str | None]
    searched_by_id: Mapped[int | None]
    countersigned_at: Mapped[datetime | None]
    countersigned_by: Mapped[str | None]
    countersigned_by_id: Mapped[int | None]

    removal: Mapped[Removal | None] = relationship()

    __table_args__ = (
        sa.CheckConstraint("(found_at IS NULL) = (found_words = '')", name="found_says_where"),
        sa.CheckConstraint("(searched_at IS NULL) = (search_words = '')", name="search_says_how"),
        sa.CheckConstraint("countersigned_at IS NULL OR (searched_at IS NOT NULL AND countersigned_by_id <> searched_by_id)",
                           name="second_person"),
        sa.CheckConstraint("found_at IS NULL OR countersigned_at IS NULL", name="one_end"),
    )

    @property
    def is_open(self) -> bool:
        return self.found_at is None and self.countersigned_at is None
