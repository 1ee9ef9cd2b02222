"""Adding people, signing in and out, enrolling devices."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import sqlalchemy as sa

from app.access import guessing
from app.access.models import Badge, Device, EnrolCode, PasswordCode, Person, SignIn
from app.access.queries import badge_of
from app.access.rules import CODE_LASTS, May, Role
from app.access.secrets import Hashed, as_typed, hash_secret, hashed, new_badge, new_code, new_token, token_hash
from app.access.strength import password_trouble, pin_trouble
from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record

NO_CODE = "That name and code do not belong together, or the code is wrong, used or older than a day. Ask the owner for a new one."
PASSWORD_CODE_LENGTH = 12  # of thirty signs each: 59 bits
ENROL_CODE_LASTS = timedelta(minutes=10)


@dataclass(frozen=True)
class _Nobody:
    """Whom an entry is about that names a person who is not there."""

    id: int = 0
    __tablename__ = "person"


_NOBODY = _Nobody()


def new_password(password: str, name: str) -> Hashed:
    """A password that somebody chose, with its slow hash: call it before the transaction that keeps it. BadInput if it is weak."""
    _refuse_weak(password, name)
    return hashed(password)


def new_pin(pin: str) -> Hashed:
    """The same for a PIN."""
    _refuse_weak_pin(pin)
    return hashed(pin)


def add_person(name: str, role: Role, password: str | None, *, by: Actor, now: datetime) -> Person:
    """A new person. BadInput if the name is taken or the password too weak. Without one they set their own, by a one-time code."""
    name = " ".join(name.split())
    if not name:
        raise BadInput("Enter a name.", "name")
    if session().scalar(sa.select(Person.id).where(sa.func.lower(Person.name) == name.lower())):
        raise BadInput(f"There is someone called {name} already; add a surname or an initial.", "name")
    if password is not None:
        _refuse_weak(password, name)
    person = Person(name=name, role=role, password_hash=None if password is None else hash_secret(password), active=True,
                    added_at=now)
    session().add(person)
    record(Event.PERSON_ADDED, person, by=by, now=now, after={"name": name, "role": role.value})
    return person


def change_person(person: Person, *, role: Role, active: bool, by: Actor, now: datetime) -> None:
    """Another role, or no sign-in any more. One owner must stay."""
    last_owner = person.role is Role.OWNER and person.active and (role is not Role.OWNER or not active) and not _other_owner(person)
    if last_owner:
        raise RuleBroken("This is the only owner. Make someone else an owner first.")
    before = {"role": person.role.value, "may sign in": person.active}
    person.role, person.active = role, active
    record(Event.PERSON_CHANGED, person, by=by, now=now, before=before, after={"role": role.value, "may sign in": active})
    if not active:
        end_all(person, now=now)
        _end_codes(person, now)


def set_password(person: Person, password: str, *, by: Actor, now: datetime) -> None:
    """A new password, chosen by that person; every open sign-in of theirs ends."""
    _refuse_weak(password, person.name)
    person.password_hash = hash_secret(password)
    guessing.forgive(person)
    record(Event.PERSON_PASSWORD_SET, person, by=by, now=now)
    end_all(person, now=now)


def make_password_code(person: Person, *, by: Actor, now: datetime) -> str:
    """A one-time code with which this person sets their own password; ends those before it. Shown once: only its hash is kept."""
    _end_codes(person, now)
    code = new_code(PASSWORD_CODE_LENGTH)
    session().add(PasswordCode(person_id=person.id, code_hash=token_hash(code), made_at=now, made_by_id=by.person_id))
    record(Event.PASSWORD_CODE_MADE, person, by=by, now=now)
    return code


def password_code_trouble(person: Person | None, code: str, *, now: datetime, place: str, name: str = "") -> str | None:
    """What to say if this code does not open; None if it does. Wrong ones are counted and slowed as wrong passwords are.

    A name that nobody has, as it was typed, is counted and slowed alike.
    """
    known = person if person is not None and person.active else None
    who = guessing.Who(known.id if known else 0, guessing.plain(known.name if known else name))
    if trouble := guessing.password_trouble(who, place, now):
        return trouble
    if known is not None and _open_code(known, code, now) is not None:
        return None
    _count_refused(known, who, place, "wrong password code", now)
    return NO_CODE


def use_password_code(person: Person, code: str, password: str, *, agent: str, now: datetime) -> None:
    """The person sets their own password by their code, which has no use after that. BadInput if it has none now."""
    if not person.active or _open_code(person, code, now) is None:
        raise BadInput(NO_CODE, "password_code")
    set_password(person, password, by=Actor(person.id, person.name, agent), now=now)
    _end_codes(person, now)


def _open_code(person: Person, code: str, now: datetime) -> PasswordCode | None:
    found = session().scalar(sa.select(PasswordCode).where(
        PasswordCode.person_id == person.id, PasswordCode.code_hash == token_hash(as_typed(code)), PasswordCode.ended_at.is_(None)))
    return found if found is not None and timedelta(0) <= now - found.made_at <= CODE_LASTS else None


def _end_codes(person: Person, now: datetime) -> None:
    for one in session().scalars(sa.select(PasswordCode).where(PasswordCode.person_id == person.id,
                                                               PasswordCode.ended_at.is_(None))):
        one.ended_at = now


def make_badge(person: Person, *, by: Actor, now: datetime) -> str:
    """A badge that counts as this person's PIN, in place of the one before. Shown once: only its hash is kept."""
    if not person.active:
        raise RuleBroken(f"{person.name} may not sign in, so a badge opens nothing.")
    if (before := badge_of(person)) is not None:
        before.withdrawn_at = now
    secret = new_badge()
    session().add(Badge(person_id=person.id, secret_hash=token_hash(secret), made_at=now, made_by_id=by.person_id))
    record(Event.BADGE_MADE, person, by=by, now=now)
    return secret


def withdraw_badge(person: Person, *, by: Actor, now: datetime) -> None:
    """Lost, or not wanted any more: from now on it opens nothing. Sign-ins that it opened end with all of that person's."""
    found = badge_of(person)
    if found is None:
        raise RuleBroken(f"{person.name} has no badge.")
    found.withdrawn_at = now
    record(Event.BADGE_WITHDRAWN, person, by=by, now=now)
    end_all(person, now=now)


def whose_badge(secret: str, device: Device | None) -> Person | None:
    """Who holds the badge with this secret, if they may sign in with it here: on an enrolled device only, as with a PIN."""
    if device is None:
        return None
    found = session().scalar(sa.select(Badge).where(Badge.secret_hash == token_hash(as_typed(secret)),
                                                    Badge.withdrawn_at.is_(None)))
    return found.person if found is not None and found.person.active else None


def set_pin(person: Person, pin: str, *, by: Actor, now: datetime) -> None:
    """A PIN for the enrolled devices."""
    _refuse_weak_pin(pin)
    person.pin_hash = hash_secret(pin)
    record(Event.PERSON_PIN_SET, person, by=by, now=now)


def count_password(person: Person | None, who: guessing.Who, place: str, *, fits: bool, now: datetime) -> bool:
    """Count a try that was weighed (`app/access/trying.py`), and whether it opens. A name that nobody has is counted alike."""
    if fits and person is not None:
        guessing.succeeded(person, place)
        return True
    _count_refused(person, who, place, "wrong password", now)
    return False


def _count_refused(person: Person | None, who: guessing.Who, place: str, reason: str, now: datetime) -> None:
    guessing.failed(who, place, "password", now)
    record(Event.SIGN_IN_REFUSED, person or _NOBODY, by=Actor(None, person.name if person else "a name that nobody has", place),
           now=now, reason=reason)


def count_pin(person: Person, place: str, *, fits: bool, now: datetime) -> bool:
    """The same for a PIN."""
    if fits:
        guessing.pin_fitted(person, place)
        return True
    guessing.failed(guessing.Who(person.id, guessing.plain(person.name)), place, "pin", now)
    record(Event.SIGN_IN_REFUSED, person, by=Actor(None, person.name, place), now=now, reason="wrong PIN")
    return False


def place_of(device: Device | None, address: str) -> str:
    """Where tries are counted: an enrolled device, else an address."""
    return f"device {device.id}" if device else address


def open_sign_in(person: Person, device: Device | None, *, agent: str, by_password: bool,
                 now: datetime) -> tuple[SignIn, str]:
    """Begin a sign-in; returns it with the token that the cookie carries. A PIN, a badge or a passkey proves no password."""
    token = new_token()
    opened = SignIn(token_hash=token_hash(token), person=person, device=device, agent=agent[:200],
                    started_at=now, seen_at=now, password_at=now if by_password else None)
    session().add(opened)
    record(Event.PERSON_SIGNED_IN, person, by=actor(person, device, agent), now=now)
    return opened, token


def end_sign_in(opened: SignIn, *, by: Actor, now: datetime) -> None:
    """Ended means ended: the token opens nothing any more."""
    if opened.ended_at is None:
        opened.ended_at = now
        record(Event.PERSON_SIGNED_OUT, opened.person, by=by, now=now)


def end_all(person: Person, *, now: datetime) -> None:
    """End every open sign-in of this person."""
    for opened in session().scalars(sa.select(SignIn).where(SignIn.person_id == person.id, SignIn.ended_at.is_(None))):
        opened.ended_at = now


def make_enrol_code(owner: Person, *, by: Actor, now: datetime) -> str:
    """A one-time code, good for ten minutes; shown once."""
    code = new_code(8)
    enrol_code = EnrolCode(code_hash=token_hash(code), made_at=now, made_by_id=owner.id)
    session().add(enrol_code)
    return code


def enrol(code: str, name: str, *, agent: str, now: datetime) -> tuple[Device, str]:
    """Make this browser an enrolled device; returns it with the secret its cookie carries."""
    wanted = token_hash(as_typed(code))
    found = session().scalar(sa.select(EnrolCode).where(EnrolCode.code_hash == wanted, EnrolCode.used_at.is_(None)))
    if (found is None or not timedelta(0) <= now - found.made_at <= ENROL_CODE_LASTS
            or not session().get_one(Person, found.made_by_id).may(May.PEOPLE)):  # whoever made it may have left since
        raise BadInput("That code is wrong or has expired. Ask the owner for a new one under People; it is good for ten "
                       "minutes.", "code")
    name = " ".join(name.split())
    if session().scalar(sa.select(Device.id).where(sa.func.lower(Device.name) == name.lower(), Device.revoked_at.is_(None))):
        raise BadInput(f"There is a device called {name} already. Give this one another name, or have the owner revoke the other.",
                       "name")
    found.used_at = now
    secret = new_token()
    device = Device(name=name, secret_hash=token_hash(secret), enrolled_at=now, enrolled_by_id=found.made_by_id)
    session().add(device)
    record(Event.DEVICE_ENROLLED, device, by=Actor(found.made_by_id, "with the owner's code", agent), now=now,
           after={"name": device.name})
    return device, secret


def revoke(device: Device, *, by: Actor, now: datetime) -> None:
    """From the next request on this device is a stranger."""
    if device.revoked_at is None:
        device.revoked_at = now
        record(Event.DEVICE_REVOKED, device, by=by, now=now, before={"name": device.name})


def actor(person: Person, device: Device | None, agent: str) -> Actor:
    """This person at this device, as the journal names them."""
    return Actor(person.id, person.name, device.name if device else agent[:80] or "a browser")


def _refuse_weak(password: str, name: str) -> None:
    if trouble := password_trouble(password, about=(name, "tagstrip", "workshop", "amplifier")):
        raise BadInput(trouble, "password")


def _refuse_weak_pin(pin: str) -> None:
    if trouble := pin_trouble(pin):
        raise BadInput(trouble, "new_pin")


def _other_owner(person: Person) -> bool:
    return session().scalar(sa.select(Person.id).where(Person.role == Role.OWNER, Person.active.is_(True),
                                                       Person.id != person.id).limit(1)) is not None
