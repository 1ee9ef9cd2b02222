"""Writing an incident down, and what was told about it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.errors import BadInput
from app.incidents import duties
from app.incidents.models import Incident, IncidentEntry
from app.incidents.rules import Harm, Told
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer
from app.shop.queries import the_shop

EVENTS = {Told.TOLD: Event.INCIDENT_TOLD, Told.REPORTED: Event.INCIDENT_REPORTED, Told.NOT_DUE: Event.INCIDENT_NOT_REPORTABLE,
          Told.CORRECTED: Event.INCIDENT_CORRECTED}


@dataclass(frozen=True)
class Happened:
    """Who was hurt or could have been, how badly, by what, where and when; when the shop learned of it; what was done."""

    who: str
    harm: Harm
    what: str
    place: str
    happened_at: datetime
    learned_at: datetime
    first_aid: str = ""
    kept: str = ""


@dataclass(frozen=True)
class About:
    """What it is about, as far as it is known. An order names its own amp and customer."""

    order: RepairOrder | None = None
    customer: Customer | None = None
    amp: Amp | None = None


@dataclass(frozen=True)
class Said:
    """A later entry: what was told to whom, when, and what proves it."""

    kind: Told
    what: str
    told_at: datetime
    whom: str = ""
    proof: str = ""


def record_incident(happened: Happened, about: About, *, by: Actor, now: datetime) -> Incident:
    """Write it down, with the duty to report as it is known for the shop's place. Never changed afterwards."""
    for field, words, value in (("who", "Enter who was hurt, or could have been.", happened.who),
                                ("what", "Enter what happened.", happened.what), ("place", "Enter where it happened.",
                                                                                              happened.place)):
        if not value.strip():
            raise BadInput(words, field)
    if happened.learned_at < happened.happened_at:
        raise BadInput("The shop cannot have learned of it before it happened.", "learned_on")
    if happened.learned_at > now:
        raise BadInput("That moment has not come yet.", "learned_on")
    duty, order = duties.for_jurisdiction(the_shop().jurisdiction), about.order
    made = Incident(
        order_id=order.id if order else None,
        customer_id=order.owner_id if order else about.customer.id if about.customer else None,
        amp_id=order.amp_id if order else about.amp.id if about.amp else None, happened_at=happened.happened_at,
        learned_at=happened.learned_at, place=happened.place.strip(), who=happened.who.strip(), harm=happened.harm,
        what=happened.what.strip(), first_aid=happened.first_aid.strip(), kept=happened.kept.strip(),
        jurisdiction=the_shop().jurisdiction, duty_words=duty.words, duty_to=duty.to, duty_source=duty.source,
        duty_address=duty.address, duty_read=duty.read, duty_checked=duty.checked,
        due_at=duty.due_at(happened.learned_at, happened.harm), at=now, by_name=by.name)
    session().add(made)
    record(Event.INCIDENT_RECORDED, made, by=by, now=now, after={
        "who": made.who, "hurt": made.harm.value, "what": made.what, "where": made.place, "first aid": made.first_aid or None,
        "happened": made.happened_at.isoformat(), "learned": made.learned_at.isoformat(),
        "report due": made.due_at.isoformat() if made.due_at else None})
    return made


def add_entry(incident: Incident, said: Said, *, by: Actor, now: datetime) -> IncidentEntry:
    """What was told to whom, that it was reported or need not be, or what is put right."""
    if not said.what.strip():
        raise BadInput("Enter what was told, or what is put right.", "what")
    if said.kind in (Told.TOLD, Told.REPORTED) and not said.whom.strip():
        raise BadInput("Enter to whom.", "whom")
    if said.kind is Told.REPORTED and not said.proof.strip():
        raise BadInput("Enter what proves the report: its number, the message, who took it.", "proof")
    if said.told_at > now:
        raise BadInput("That moment has not come yet.", "told_on")
    if said.told_at < incident.happened_at:
        raise BadInput("That is before it happened.", "told_on")
    made = IncidentEntry(incident=incident, kind=said.kind, whom=said.whom.strip(), what=said.what.strip(), told_at=said.told_at,
                         proof=said.proof.strip(), at=now, by_name=by.name)
    session().add(made)
    session().flush()
    record(EVENTS[said.kind], made, by=by, now=now, order_id=incident.order_id,
           after={"incident": incident.id, "kind": said.kind.value, "to": made.whom or None, "what": made.what,
                  "when": made.told_at.isoformat(), "proof": made.proof or None})
    return made
