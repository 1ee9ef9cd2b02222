"""Reading incidents back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import selectinload

from app.db import session
from app.incidents.models import Incident, IncidentEntry
from app.incidents.rules import Told
from app.orders.models import RepairOrder

_SETTLED = sa.exists().where(IncidentEntry.incident_id == Incident.id,
                             IncidentEntry.kind.in_([one for one in Told if one.settles]))


def find(incident_id: int) -> Incident | None:
    """The incident with this id."""
    return session().get(Incident, incident_id)


def order_with_number(number: int) -> RepairOrder | None:
    """The repair with this number."""
    return session().scalar(sa.select(RepairOrder).where(RepairOrder.number == number))


def incidents(order_id: int | None = None) -> Sequence[Incident]:
    """Every incident, or those of one order; newest first, with what was told."""
    asked = sa.select(Incident).options(selectinload(Incident.entries)).order_by(Incident.id.desc())
    return session().scalars(asked if order_id is None else asked.where(Incident.order_id == order_id)).all()


def to_report() -> Sequence[Incident]:
    """Those for which a report is due that nobody has made, soonest due first."""
    return session().scalars(sa.select(Incident).where(Incident.due_at.is_not(None), ~_SETTLED).order_by(Incident.due_at)).all()


def dues_of(order_id: int) -> Sequence[tuple[int, datetime]]:
    """Of one order: the incidents whose report is due, and until when."""
    found = session().execute(sa.select(Incident.id, Incident.due_at)
                              .where(Incident.order_id == order_id, Incident.due_at.is_not(None), ~_SETTLED))
    return [(key, at) for key, at in found if at is not None]
