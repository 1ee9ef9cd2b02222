"""The list of what a migration could not match."""

from __future__ import annotations

import enum
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base, Versioned, words


class Told(enum.StrEnum):
    """What the words said of their record. The migration writes them."""

    UNDER = "was under"
    FIXED = "fixed to"
    PLACE = "goes to"
    PIN = "pinned"
    BAKED = "dries"


class Settled(enum.StrEnum):
    """What became of an entry."""

    MATCHED = "matched"
    SET_ASIDE = "set aside"


class Leftover(Versioned, Base):
    """Words of a record that name no other record, or several; `title` says which record, `why` what stood in the way.

    Open until somebody says what they mean, or sets them aside with a reason. The words stay readable either way.
    """

    __tablename__ = "leftover"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    record_table: Mapped[str]
    record_id: Mapped[int]
    title: Mapped[str]
    told: Mapped[Told] = mapped_column(words(Told))
    text: Mapped[str]
    why: Mapped[str]
    found_at: Mapped[datetime]
    settled_as: Mapped[Settled | None] = mapped_column(words(Settled))
    settled_words: Mapped[str] = mapped_column(default="")
    settled_at: Mapped[datetime | None]
    settled_by: Mapped[str] = mapped_column(default="")

    __table_args__ = (
        sa.CheckConstraint("text <> '' AND why <> ''", name="says_what_and_why"),
        sa.CheckConstraint("(settled_as IS NULL) = (settled_at IS NULL) AND (settled_as IS NULL) = (settled_words = '')",
                           name="settled_says_how"),
    )
