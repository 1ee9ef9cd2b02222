"""What incidents make due: a report, where the law of the place counts its time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import sqlalchemy as sa

from app.errors import Missing
from app.incidents.models import Incident, IncidentEntry
from app.incidents.rules import Told
from app.orders.due import Asked, Due, Source, asks, from_row

REPORT = "Incident report"
_SETTLES = tuple(one for one in Told if one.settles)


def _reports(rows: Sequence[Any], asked: Asked) -> Iterable[Due]:
    for row in rows:
        text = f"Incident {row.subject_id} is to be reported to {row.words}."
        act = Missing(text, "incidents.one", (("incident_id", row.subject_id),))
        yield from_row(row, text, asked.day_of(row.at), act, at=row.at)


REPORTS = Source(REPORT, asks(REPORT, of_order=False, of_customer=False, subject_id=Incident.id, at=Incident.due_at,
                              words=Incident.duty_to)
                 .where(Incident.due_at.is_not(None), ~sa.exists().where(IncidentEntry.incident_id == Incident.id,
                                                                         IncidentEntry.kind.in_(_SETTLES))), _reports)
