"""Adding people, signing in and out."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa

from app.accounts.models import Device, Person, SignIn
from app.accounts.rules import Role
from app.accounts.secrets import hash_secret, new_token, token_hash
from app.db import session
from app.errors import BadInput
from app.journal.events import Event
from app.journal.service import Actor, record


def add_person(name: str, role: Role, password: str, *, by: Actor, now: datetime) -> Person:
    """A new person who may sign in."""
    name = " ".join(name.split())
    if session().scalar(sa.select(Person.id).where(Person.name == name)):
        raise BadInput(f"There is somebody called {name} already; add a surname or an initial.", "name")
    person = Person(name=name, role=role, password_hash=hash_secret(password), active=True, added_at=now)
    session().add(person)
    record(Event.PERSON_ADDED, person, by=by, now=now, after={"name": name, "role": role.value})
    return person


def open_sign_in(person: Person, device: Device | None, *, agent: str, now: datetime) -> tuple[SignIn, str]:
    """Begin a sign-in; returns it with the token that the cookie carries."""
    token = new_token()
    opened = SignIn(token_hash=token_hash(token), person=person, device=device, agent=agent[:200],
                    started_at=now, seen_at=now, proved_at=now)
    session().add(opened)
    record(Event.PERSON_SIGNED_IN, person, by=actor(person, device, agent), now=now)
    return opened, token


def end_sign_in(opened: SignIn, *, by: Actor, now: datetime) -> None:
    """Ended means ended: the token opens nothing any more."""
    if opened.ended_at is None:
        opened.ended_at = now
        record(Event.PERSON_SIGNED_OUT, opened.person, by=by, now=now)


def actor(person: Person, device: Device | None, agent: str) -> Actor:
    """This person at this device, as the journal names them."""
    return Actor(person.id, person.name, device.name if device else agent[:80] or "a browser")
