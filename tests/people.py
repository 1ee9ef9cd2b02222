"""The fixed cast. Passwords are for tests only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.access import service
from app.access.rules import Role
from app.journal.service import Actor

PASSWORD = "seven copper kettles"
BY = Actor(None, "the console", "the console")


@dataclass(frozen=True)
class Somebody:
    """One of the cast: id and name."""

    id: int
    name: str

    @property
    def actor(self) -> Actor:
        return Actor(self.id, self.name, "a browser")


@dataclass(frozen=True)
class Cast:
    """Mara at the counter, Ines at the bench, Tove owns the shop; Odd is a second technician."""

    counter: Somebody
    technician: Somebody
    second: Somebody
    owner: Somebody


def hire(now: datetime) -> Cast:
    """Add the cast; call inside a transaction."""
    made = {}
    for name, role in (("Mara", Role.COUNTER), ("Ines", Role.TECHNICIAN), ("Odd", Role.TECHNICIAN), ("Tove", Role.OWNER)):
        person = service.add_person(name, role, PASSWORD, by=BY, now=now)
        made[name] = Somebody(person.id, name)
    return Cast(made["Mara"], made["Ines"], made["Odd"], made["Tove"])
