"""Photos of an order. A photo is struck with a reason, never removed."""

from __future__ import annotations

import enum
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, Versioned, words
from app.photos.rules import said


class Phase(enum.StrEnum):
    """When in the job: before anything was touched, while working, or as it leaves."""

    AS_FOUND = "as_found"
    AT_WORK = "at_work"
    AS_LEFT = "as_left"

    @property
    def word(self) -> str:
        return {"as_found": "as found", "at_work": "at work", "as_left": "as left"}[self.value]


class Photo(Versioned, Base):
    """One photo: the original byte for byte and two upright copies, all by their SHA-256; place and caption in words.

    Where the shop wants it so, the original is kept without what the camera noted beside the picture, its location above all.

    Width and height are those of the upright original, in pixels.
    """

    __tablename__ = "photo"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    sha256: Mapped[str] = mapped_column(index=True, info={"stored": True})
    web_sha256: Mapped[str] = mapped_column(info={"stored": True})
    thumb_sha256: Mapped[str] = mapped_column(info={"stored": True})
    media_type: Mapped[str]
    width: Mapped[int]
    height: Mapped[int]
    place: Mapped[str]
    caption: Mapped[str] = mapped_column(default="")
    phase: Mapped[Phase] = mapped_column(words(Phase))
    position: Mapped[int]
    same_view_as_id: Mapped[int | None] = mapped_column(sa.ForeignKey("photo.id"))
    captured_at: Mapped[datetime | None]
    added_at: Mapped[datetime]
    added_by: Mapped[str]
    without_location: Mapped[bool] = mapped_column(default=False)  # looked at, and no location is in the original
    struck_at: Mapped[datetime | None]
    struck_by: Mapped[str | None]
    struck_reason: Mapped[str | None]

    __table_args__ = (
        sa.CheckConstraint("width > 0 AND height > 0", name="has_size"),
        sa.CheckConstraint("length(sha256) = 64 AND length(web_sha256) = 64 AND length(thumb_sha256) = 64",
                           name="hashed"),
        sa.CheckConstraint("media_type IN ('image/jpeg', 'image/png', 'image/webp', 'image/heic', 'image/avif')",
                           name="media_known"),
        sa.CheckConstraint("(struck_at IS NULL) = (struck_reason IS NULL)", name="struck_with_reason"),
        sa.CheckConstraint("place <> ''", name="has_place"),
    )

    @property
    def words(self) -> str:
        """What it shows, in one line: its text alternative."""
        return said(self.place, self.caption, self.phase.word)


class FileToRemove(Base):
    """A file that is to go out of the store for good, and when it did. Listed in the transaction that lets go of it."""

    __tablename__ = "file_to_remove"

    id: Mapped[int] = mapped_column(primary_key=True)
    sha256: Mapped[str] = mapped_column(index=True)
    why: Mapped[str]
    listed_at: Mapped[datetime]
    removed_at: Mapped[datetime | None]

    __table_args__ = (
        sa.CheckConstraint("length(sha256) = 64", name="hashed"),
        sa.CheckConstraint("why <> ''", name="says_why"),
    )


PINNED = ("finding", "removal", "board_position", "leftover")  # tables of which a pin opens a record; a column for each


class Pin(Base):
    """Something of the job on a photo: where, as fractions of the upright picture, or the whole photo (no place).

    It opens exactly one record, named by its key; each stage tells app.photos.pins what its kinds open. A pin of which nobody
    knows any more what it opened names its entry on the list of what could not be matched.
    """

    __tablename__ = "photo_pin"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    photo_id: Mapped[int] = mapped_column(sa.ForeignKey("photo.id"), index=True)
    finding_id: Mapped[int | None] = mapped_column(sa.ForeignKey("finding.id"), index=True)
    removal_id: Mapped[int | None] = mapped_column(sa.ForeignKey("removal.id"), index=True)
    board_position_id: Mapped[int | None] = mapped_column(sa.ForeignKey("board_position.id"), index=True)
    leftover_id: Mapped[int | None] = mapped_column(sa.ForeignKey("leftover.id"), index=True)
    label: Mapped[str]
    x: Mapped[float | None]
    y: Mapped[float | None]
    at: Mapped[datetime]
    by_name: Mapped[str]
    lifted_at: Mapped[datetime | None]

    photo: Mapped[Photo] = relationship()

    __table_args__ = (
        sa.CheckConstraint(" + ".join(f"CASE WHEN {table}_id IS NULL THEN 0 ELSE 1 END" for table in PINNED) + " = 1",
                           name="opens_one_record"),
        sa.CheckConstraint("(x IS NULL) = (y IS NULL)", name="both_fractions"),
        sa.CheckConstraint("x IS NULL OR (x BETWEEN 0 AND 1 AND y BETWEEN 0 AND 1)", name="inside_the_picture"),
    )

    @property
    def table(self) -> str:
        """The table of the record that it opens."""
        return next(table for table in PINNED if getattr(self, f"{table}_id") is not None)

    @property
    def word(self) -> str:
        """What sort of record it opens, for readers: position 7."""
        return {"board_position": "position", "leftover": "name not matched"}.get(self.table, self.table)

    @property
    def subject_id(self) -> int:
        """The id of the record that it opens."""
        found: int = getattr(self, f"{self.table}_id")
        return found


class PhotoStore(Base):
    """The folder that this database's files lie in, by its id. One row at most; none before the first start."""

    __tablename__ = "photo_store"

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str]
    known_since: Mapped[datetime]

    __table_args__ = (sa.CheckConstraint("id = 1", name="only_one"), sa.CheckConstraint("length(key) = 32", name="whole"))
