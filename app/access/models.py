"""People, their sign-ins and the devices they use."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.access.rules import May, Role, may
from app.db import Base, words


class Person(Base):
    """Somebody who works in the shop. Never deleted: `active` says whether they still may sign in."""

    __tablename__ = "person"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    role: Mapped[Role] = mapped_column(words(Role))
    password_hash: Mapped[str | None]  # none yet: a one-time code lets them set their own
    pin_hash: Mapped[str | None]
    active: Mapped[bool] = mapped_column(default=True)
    added_at: Mapped[datetime]

    def may(self, what: May) -> bool:
        return self.active and may(self.role, what)


class Device(Base):
    """A bench tablet (or counter machine) that the owner has enrolled for PIN sign-in."""

    __tablename__ = "device"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    secret_hash: Mapped[str] = mapped_column(unique=True)
    enrolled_at: Mapped[datetime]
    enrolled_by_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"))
    revoked_at: Mapped[datetime | None]


class EnrolCode(Base):
    """A one-time code with which a device is enrolled; good for ten minutes."""

    __tablename__ = "enrol_code"

    id: Mapped[int] = mapped_column(primary_key=True)
    code_hash: Mapped[str]
    made_at: Mapped[datetime]
    made_by_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"))
    used_at: Mapped[datetime | None]


class PasswordCode(Base):
    """A one-time code with which a person sets their own password; good for a day. The next one ends those before it."""

    __tablename__ = "password_code"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"), index=True)
    code_hash: Mapped[str]
    made_at: Mapped[datetime]
    made_by_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))
    ended_at: Mapped[datetime | None]  # used, or another one was made


class Badge(Base):
    """A printed code that counts as a person's PIN on an enrolled device. Only the hash of its 128 random bits is kept."""

    __tablename__ = "badge"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"), index=True)
    secret_hash: Mapped[str] = mapped_column(unique=True)
    made_at: Mapped[datetime]
    made_by_id: Mapped[int | None] = mapped_column(sa.ForeignKey("person.id"))
    withdrawn_at: Mapped[datetime | None]

    person: Mapped[Person] = relationship(foreign_keys=person_id)


class Passkey(Base):
    """A key pair that a person's device holds; here is its public half. It signs in as a PIN does (WebAuthn Level 2)."""

    __tablename__ = "passkey"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"), index=True)
    name: Mapped[str]  # of the device that holds it, as its person calls it
    credential_id: Mapped[str] = mapped_column(unique=True)  # base64url, as the two below
    public_key: Mapped[str]
    user_handle: Mapped[str]  # by which the device knows the person: random, the same for all keys of one person
    counter: Mapped[int]  # how often the device has signed, if it counts; 0 for ever if it does not
    added_at: Mapped[datetime]
    used_at: Mapped[datetime | None]
    ended_at: Mapped[datetime | None]

    person: Mapped[Person] = relationship(foreign_keys=person_id)

    __table_args__ = (
        sa.CheckConstraint("counter >= 0", name="counter_not_negative"),
        sa.CheckConstraint("name <> '' AND credential_id <> '' AND public_key <> '' AND user_handle <> ''", name="whole"),
    )


class SignIn(Base):
    """One sign-in, kept here so that ended means ended. The cookie holds a token; only its hash is stored."""

    __tablename__ = "sign_in"

    id: Mapped[int] = mapped_column(primary_key=True)
    token_hash: Mapped[str] = mapped_column(unique=True)
    person_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"), index=True)
    device_id: Mapped[int | None] = mapped_column(sa.ForeignKey("device.id"))
    agent: Mapped[str]
    started_at: Mapped[datetime]
    seen_at: Mapped[datetime]
    password_at: Mapped[datetime | None]  # when the password itself was last given; never by a PIN, a badge or a passkey
    ended_at: Mapped[datetime | None]

    person: Mapped[Person] = relationship()
    device: Mapped[Device | None] = relationship()


class FailedAttempts(Base):
    """Failed tries in a row, by person, device and kind of secret."""

    __tablename__ = "guesses"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(sa.ForeignKey("person.id"))
    device_key: Mapped[str]
    kind: Mapped[str]
    failures: Mapped[int] = mapped_column(default=0)
    last_at: Mapped[datetime]

    __table_args__ = (
        sa.UniqueConstraint("person_id", "device_key", "kind"),
        sa.CheckConstraint("failures >= 0", name="failures_not_negative"),
        sa.CheckConstraint("kind IN ('password', 'pin')", name="kind_known"),
    )
