"""What the web keeps: forms that came once, and forms that came while nobody was signed in."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base


class OnceKey(Base):
    """A form that was saved: its key, what was in it and where its outcome stands."""

    __tablename__ = "once_key"

    key: Mapped[str] = mapped_column(primary_key=True)
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))
    fingerprint: Mapped[str]
    location: Mapped[str]
    at: Mapped[datetime]


class HeldPost(Base):
    """A form that arrived after its sign-in had ended: kept until the same person signs in again."""

    __tablename__ = "held_post"

    id: Mapped[str] = mapped_column(primary_key=True)
    person_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))
    path: Mapped[str]
    fields: Mapped[str]  # JSON: [[name, value], ...]
    files: Mapped[str]  # JSON: [{field, name, media_type, file}], the bytes lie in the data folder
    at: Mapped[datetime]
    taken_at: Mapped[datetime | None]


class ClockJump(Base):
    """The machine's clock said another time than it should have. Until the owner says that it is right, nothing goes by age."""

    __tablename__ = "clock_jump"

    id: Mapped[int] = mapped_column(primary_key=True)
    expected_at: Mapped[datetime]  # what it should have said, as nearly as is known
    found_at: Mapped[datetime]  # what it said
    confirmed_at: Mapped[datetime | None]
    confirmed_by: Mapped[str | None]

    __table_args__ = (sa.CheckConstraint("(confirmed_at IS NULL) = (confirmed_by IS NULL)", name="confirmed_by_someone"),)
