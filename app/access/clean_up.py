"""What has no value after its moment goes by age: at the start of the server, and once a day with a sign-in, which writes anyway.

No page that is only read ever cleans up. What happened stays in the journal: who signed in and out, and what was saved.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import sqlalchemy as sa
from flask import current_app
from sqlalchemy.orm import InstrumentedAttribute, Session

from app.access.models import PasswordCode, SignIn
from app.db import Base
from app.kernel.clock_watch import in_doubt
from app.kernel.models import HeldPost, OnceKey
from app.kernel.upload_holding import KEPT_FOR

_DONE = "cleaned_on"


@dataclass(frozen=True)
class Age:
    """Rows of this table go when this moment of theirs is so long ago."""

    model: type[Base]
    moment: sa.ColumnElement[datetime] | InstrumentedAttribute[datetime]
    kept_for: timedelta
    reason: str


AGES = (
    Age(HeldPost, HeldPost.at, KEPT_FOR, "as long as a held form is shown to its sender, and its files are kept"),
    Age(OnceKey, OnceKey.at, timedelta(days=30),
        "a page may be sent until the longest sign-in ends, and then wait as a held form; a month is longer than both"),
    Age(PasswordCode, PasswordCode.made_at, timedelta(days=30), "a code is good for a day, and the journal says who made it"),
    Age(SignIn, sa.func.coalesce(SignIn.ended_at, SignIn.seen_at), timedelta(days=30),
        "an ended sign-in opens nothing; for a month its cookie still says whose held form this is"),
)


def clean_up(current: Session, now: datetime) -> int:
    """Delete what is older than its age; how many rows that were. Inside a transaction."""
    gone = 0
    for age in AGES:
        found = current.execute(sa.delete(age.model).where(age.moment < now - age.kept_for)
                                .execution_options(synchronize_session=False))
        gone += found.rowcount  # type: ignore[attr-defined]
    return gone


def once_a_day(current: Session, now: datetime) -> None:
    """The same, if this process has not done it today. Inside a transaction that writes anyway.

    Nothing while the clock is in doubt: one that is ahead would have everything go.
    """
    if in_doubt():
        return
    if current_app.extensions.get(_DONE) != now.date():
        clean_up(current, now)
        current_app.extensions[_DONE] = now.date()
