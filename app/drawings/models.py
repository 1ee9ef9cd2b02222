"""Drawings of a model, and pins on them. A drawing is withdrawn with a reason, a pin is withdrawn; neither is removed."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, Versioned, words
from app.drawings.rules import PDF, DrawingKind


class Drawing(Versioned, Base):
    """A drawing of a maker's model: the file byte for byte by its SHA-256; of a picture two upright copies beside it.

    Width and height are those of the upright picture, in pixels; a PDF has none. It belongs to the model, not to one order.
    """

    __tablename__ = "drawing"

    id: Mapped[int] = mapped_column(primary_key=True)
    maker: Mapped[str]
    model: Mapped[str]
    title: Mapped[str]
    kind: Mapped[DrawingKind] = mapped_column(words(DrawingKind))
    source: Mapped[str] = mapped_column(default="")
    sha256: Mapped[str] = mapped_column(index=True, info={"stored": True})
    web_sha256: Mapped[str | None] = mapped_column(info={"stored": True})
    thumb_sha256: Mapped[str | None] = mapped_column(info={"stored": True})
    media_type: Mapped[str]
    width: Mapped[int | None]
    height: Mapped[int | None]
    added_at: Mapped[datetime]
    added_by: Mapped[str]
    withdrawn_at: Mapped[datetime | None]
    withdrawn_by: Mapped[str | None]
    withdrawn_reason: Mapped[str | None]

    pins: Mapped[list[DrawingPin]] = relationship(back_populates="drawing", order_by="DrawingPin.number")

    __table_args__ = (
        sa.CheckConstraint("maker <> '' AND model <> '' AND title <> ''", name="names_model_and_title"),
        sa.CheckConstraint("length(sha256) = 64", name="hashed"),
        sa.CheckConstraint("media_type IN ('image/jpeg', 'image/png', 'image/webp', 'application/pdf')", name="media_known"),
        sa.CheckConstraint("(media_type = 'application/pdf') = (width IS NULL) AND (width IS NULL) = (height IS NULL)"
                           " AND (width IS NULL) = (web_sha256 IS NULL) AND (width IS NULL) = (thumb_sha256 IS NULL)",
                           name="picture_has_size_and_copies"),
        sa.CheckConstraint("width IS NULL OR (width > 0 AND height > 0)", name="has_size"),
        sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason IS NULL)", name="withdrawn_with_reason"),
    )

    @property
    def is_pdf(self) -> bool:
        return self.media_type == PDF

    @property
    def amp_title(self) -> str:
        """The model that it draws."""
        return f"{self.maker} {self.model}".strip()

    @property
    def pins_shown(self) -> list[DrawingPin]:
        """The pins that stand, by their numbers."""
        return [one for one in self.pins if one.withdrawn_at is None]


class DrawingPin(Base):
    """A short note at a place of a drawing: x and y as fractions of the upright picture from its top left.

    Its number stays its own.
    """

    __tablename__ = "drawing_pin"

    id: Mapped[int] = mapped_column(primary_key=True)
    drawing_id: Mapped[int] = mapped_column(sa.ForeignKey("drawing.id"), index=True)
    number: Mapped[int]
    x: Mapped[float]
    y: Mapped[float]
    note: Mapped[str]
    at: Mapped[datetime]
    by_name: Mapped[str]
    withdrawn_at: Mapped[datetime | None]
    withdrawn_by: Mapped[str | None]

    drawing: Mapped[Drawing] = relationship(back_populates="pins")

    __table_args__ = (
        sa.UniqueConstraint("drawing_id", "number", name="uq_drawing_pin_number"),
        sa.CheckConstraint("x BETWEEN 0 AND 1 AND y BETWEEN 0 AND 1", name="inside_the_picture"),
        sa.CheckConstraint("note <> ''", name="says_something"),
        sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_by IS NULL)", name="withdrawn_by_someone"),
    )
