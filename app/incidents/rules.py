"""What an incident asks for, and until when. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum


class Harm(StrEnum):
    """How badly somebody was hurt."""

    NOBODY = "nobody, but it could have hurt someone"
    SLIGHT = "first aid or less"
    DOCTOR = "a doctor or a hospital"
    SERIOUS = "serious injury or illness"
    DEATH = "a death"

    @property
    def is_serious(self) -> bool:
        """What the duties of a place speak of: death, serious injury or illness."""
        return self in (Harm.SERIOUS, Harm.DEATH)


class Told(StrEnum):
    """What a later entry says."""

    TOLD = "told someone"
    REPORTED = "reported as the law asks"
    NOT_DUE = "no report is due"
    CORRECTED = "correction or addition"

    @property
    def settles(self) -> bool:
        """Nothing is due any more after it."""
        return self in (Told.REPORTED, Told.NOT_DUE)


@dataclass(frozen=True)
class Duty:
    """What the law of a place asks of a repairer: within how many days of learning of it, by which source, and how it was read.

    `days` None: no period was found; it must be asked. `seen`: the source itself was read.
    """

    jurisdiction: str
    words: str
    to: str
    days: int | None
    source: str
    read: str
    checked: date
    address: str = ""

    @property
    def unconfirmed(self) -> bool:
        return self.read != "seen"

    def due_at(self, learned_at: datetime, harm: Harm) -> datetime | None:
        """The last moment for a report; None where no period is known or nobody was seriously hurt."""
        return learned_at + timedelta(days=self.days) if self.days is not None and harm.is_serious else None


def overdue(due_at: datetime | None, settled: bool, now: datetime) -> bool:
    """Whether a report should have been made by now."""
    return due_at is not None and not settled and due_at <= now
