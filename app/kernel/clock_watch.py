"""Whether the machine's clock can be believed.

It is held against one that cannot be set, and at a start against what was written last.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import sqlalchemy as sa

from app.db import database, session
from app.kernel.models import ClockJump

BACK = timedelta(minutes=2)  # more than a time server corrects in one step
FORWARD = timedelta(hours=12)  # less than anything that goes by age is kept; a machine that was paused is not behind by that
UNSEEN = timedelta(days=30)  # a shop that wrote nothing for longer was closed, or its clock is ahead: the owner knows
_BELIEVED = "the clock is believed"


@dataclass(frozen=True)
class Jump:
    """What the clock should have said, as nearly as is known, and what it said."""

    expected: datetime
    found: datetime


class ClockWatch:
    """Looks at both clocks at every request; small steps do not add up."""

    def __init__(self, wall: datetime, steady: float) -> None:
        self._wall, self._steady = wall, steady

    def look(self, wall: datetime, steady: float) -> Jump | None:
        """The jump since the last look; told once."""
        expected = self._wall + timedelta(seconds=steady - self._steady)
        self._wall, self._steady = wall, steady
        return Jump(expected, wall) if not -BACK <= wall - expected <= FORWARD else None


def jump_since(last: datetime | None, now: datetime) -> Jump | None:
    """At a start: the jump since the last thing that was written down, if there is one that time alone does not explain."""
    return Jump(last, now) if last is not None and not -BACK <= now - last <= UNSEEN else None


def in_doubt() -> bool:
    """Whether a jump waits for the owner's word. Asked of the database until none does."""
    memory = database().memory
    if memory.get(_BELIEVED):
        return False
    found = session().scalar(sa.select(ClockJump.id).where(ClockJump.confirmed_at.is_(None)).limit(1)) is not None
    memory[_BELIEVED] = not found
    return found


def doubt() -> None:
    """A jump was just written down."""
    database().memory.pop(_BELIEVED, None)
