"""The shop's list of kinds of work."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from app.db import session
from app.errors import BadInput
from app.hours.models import WorkKind
from app.hours.queries import tasks as queries
from app.hours.rules.words import OF_ROLE, OTHER, SHIPPED
from app.journal.events import Event
from app.journal.service import Actor, record, record_change

NEEDED = {*OF_ROLE.values(), OTHER, "modification"}  # what the program itself proposes


def ensure_kinds() -> None:
    """Store the shipped list, before a shop's first task or its first change of the list."""
    if not queries.kinds():
        session().add_all(WorkKind(name=one.name, areas=list(one.areas)) for one in SHIPPED)
        session().flush()


def kind_named(name: str) -> WorkKind:
    """The kind with this name, as it is stored."""
    ensure_kinds()
    found = {one.name: one for one in queries.kinds()}
    if name not in found:
        raise BadInput("Choose the kind of work from the list.", "kind")
    return found[name]


def add(name: str, areas: Sequence[str], *, by: Actor, now: datetime) -> WorkKind:
    """A kind of the shop's own, with the areas whose findings propose it."""
    ensure_kinds()
    plain = " ".join(name.split()).lower()
    if not plain:
        raise BadInput("Enter what this kind of work is called.", "name")
    if plain in {one.name for one in queries.kinds()}:
        raise BadInput(f"“{plain}” is on the list already.", "name")
    made = WorkKind(name=plain, areas=list(areas))
    session().add(made)
    _only_here(made, areas, by=by, now=now)
    record(Event.WORK_KIND_ADDED, made, by=by, now=now, after={"kind of work": plain, "for findings of": ", ".join(areas) or None})
    return made


def change(kind: WorkKind, areas: Sequence[str], *, in_use: bool, by: Actor, now: datetime) -> None:
    """Which findings propose it, and whether it is still used; its name stays, because past hours stand under it."""
    if not in_use and kind.name in NEEDED:
        raise BadInput(f"“{kind.name}” stays on the list: tasks are proposed with it.", "in_use")
    before = _facts(kind)
    kind.areas = list(areas)
    kind.retired_at = None if in_use else kind.retired_at or now
    _only_here(kind, areas, by=by, now=now)
    record_change(Event.WORK_KIND_CHANGED, kind, before, _facts(kind), by=by, now=now)


def _only_here(kind: WorkKind, areas: Sequence[str], *, by: Actor, now: datetime) -> None:
    """An area proposes one kind: the one that was told last."""
    for other in queries.kinds():
        if other is not kind and set(other.areas) & set(areas):
            before = _facts(other)
            other.areas = [one for one in other.areas if one not in areas]
            record_change(Event.WORK_KIND_CHANGED, other, before, _facts(other), by=by, now=now)


def _facts(kind: WorkKind) -> dict[str, object]:
    return {"kind of work": kind.name, "for findings of": ", ".join(kind.areas) or None, "in use": kind.retired_at is None}
