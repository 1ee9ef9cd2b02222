"""Reading people and sign-ins."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import joinedload

from app.access import seen
from app.access.models import Badge, Device, Person, SignIn
from app.access.rules import IDLE, LONGEST
from app.access.secrets import token_hash
from app.db import session
from app.kernel.upload_holding import KEPT_FOR


def anybody() -> bool:
    """Whether the shop has its owner yet."""
    return session().scalar(sa.select(Person.id).limit(1)) is not None


def people(*, active: bool = True) -> Sequence[Person]:
    """Everybody who may sign in, by name."""
    return session().scalars(sa.select(Person).where(Person.active.is_(active)).order_by(Person.name)).all()


def by_token(token: str) -> SignIn | None:
    """The sign-in that this cookie opens, ended or not."""
    return session().scalar(sa.select(SignIn).where(SignIn.token_hash == token_hash(token))
                            .options(joinedload(SignIn.person), joinedload(SignIn.device)))


def known(token: str, now: datetime) -> SignIn | None:
    """The sign-in that this cookie was given for: open, or ended so lately that a form sent with it is still its person's."""
    found = by_token(token)
    return found if found is not None and (is_open(found, now) or is_remembered(found, now)) else None


def is_open(found: SignIn, now: datetime) -> bool:
    """Whether a sign-in still counts: not ended, not idle too long, not older than a working day, person still here."""
    return (found.ended_at is None and found.person.active
            and now - seen.last(found) <= IDLE[found.person.role] and now - found.started_at <= LONGEST
            and (found.device is None or found.device.revoked_at is None))


def is_remembered(found: SignIn, now: datetime) -> bool:
    """Whether a form that comes with this ended sign-in is still its person's, who may still sign in."""
    return found.person.active and now - (found.ended_at or seen.last(found)) <= KEPT_FOR


def person_of_page(given_to: Callable[[str], bool], now: datetime) -> Person | None:
    """To whom the page of a form was given: `given_to` says it of a sign-in, by its hash. No longer ago than forms wait."""
    since = now - KEPT_FOR - LONGEST
    lately = session().execute(sa.select(SignIn.token_hash, SignIn.person_id).where(SignIn.started_at >= since))
    found = next((person_id for token, person_id in lately if given_to(token)), None)
    person = session().get(Person, found) if found is not None else None
    return person if person is not None and person.active else None


def device_by_secret(secret: str) -> Device | None:
    """The enrolled device that holds this secret, unless it was revoked."""
    return session().scalar(sa.select(Device).where(Device.secret_hash == token_hash(secret),
                                                    Device.revoked_at.is_(None)))


def without_password() -> bool:
    """Whether anybody may sign in by PIN or badge on an enrolled device."""
    has_badge = sa.exists().where(Badge.person_id == Person.id, Badge.withdrawn_at.is_(None))
    return session().scalar(sa.select(Person.id).where(Person.active.is_(True), sa.or_(Person.pin_hash.is_not(None), has_badge))
                            .limit(1)) is not None


def with_pin() -> Sequence[Person]:
    """Everybody who may sign in with a PIN, by name."""
    return session().scalars(sa.select(Person).where(Person.active.is_(True), Person.pin_hash.is_not(None))
                             .order_by(Person.name)).all()


def open_sign_ins(person: Person, now: datetime) -> list[SignIn]:
    """Every sign-in of this person that still counts, the latest first."""
    found = session().scalars(sa.select(SignIn).where(SignIn.person_id == person.id, SignIn.ended_at.is_(None))
                              .options(joinedload(SignIn.person), joinedload(SignIn.device))
                              .order_by(SignIn.started_at.desc(), SignIn.id.desc()))
    return [one for one in found if is_open(one, now)]


def badge_of(person: Person) -> Badge | None:
    """The badge of this person that opens, if there is one."""
    return session().scalar(sa.select(Badge).where(Badge.person_id == person.id, Badge.withdrawn_at.is_(None)))


def devices() -> Sequence[Device]:
    """Every enrolled device that was not revoked."""
    return session().scalars(sa.select(Device).where(Device.revoked_at.is_(None)).order_by(Device.name)).all()
