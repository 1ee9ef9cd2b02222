"""The shop's own catalogue of usual findings."""

from __future__ import annotations

import re
from dataclasses import fields, replace
from datetime import datetime

from app.db import session
from app.errors import BadInput
from app.findings import usual
from app.findings.models.catalogue import UsualFinding
from app.findings.rules.alternatives import why_not_offered
from app.findings.rules.signs import signs_in, why_not_decided_with, why_not_judged
from app.findings.usual import Usual
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.spec import journal_facts


def keep_usual(entry: Usual, *, by: Actor, now: datetime) -> UsualFinding:
    """The shop's words for this code stand in place of ours; a code of its own is a new entry."""
    entry = _normalise_and_check(entry)
    stood = usual.find(entry.code)
    row = usual.row_of(entry.code) or UsualFinding(code=entry.code)
    for field in fields(Usual):
        setattr(row, field.name, getattr(entry, field.name))
    row.changed_at, row.changed_by = now, by.name
    session().add(row)
    before, after = journal_facts(stood, Usual) if stood else {}, journal_facts(entry, Usual)
    changed = [name for name in after if after[name] != before.get(name)]
    record(Event.CATALOGUE_CHANGED, row, by=by, now=now, before={name: before[name] for name in changed if name in before},
           after={"code": entry.code, **{name: after[name] for name in changed}})
    return row


def _normalise_and_check(entry: Usual) -> Usual:
    if not re.fullmatch(r"[A-Z]{3}-[0-9]{2,3}", entry.code):
        raise BadInput("Enter a code of three capitals and a number, such as BRD-05.", "code")
    if not entry.short.strip() or not entry.observation.strip():
        raise BadInput("Enter what it is, in short and in full.", "observation")
    if wrong := why_not_offered(entry.observation):
        raise BadInput(wrong, "observation")
    if entry.severity and not entry.probability:
        raise BadInput("Enter how likely that injury is.", "probability")
    if entry.severity and not entry.hazard.strip():
        raise BadInput("Enter how someone could be hurt.", "hazard")
    signs = signs_in(entry.signs)
    if wrong := why_not_judged(signs, entry.severity, entry.probability):
        raise BadInput(wrong, "severity")
    if wrong := why_not_decided_with(signs, entry.disposition):
        raise BadInput(wrong, "disposition")
    return replace(entry, probability=entry.probability if entry.severity else None)
