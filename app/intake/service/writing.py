"""Changing a record field by field, so that the journal names each that changed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from app.journal.events import Event
from app.journal.service import Actor, record


def put(subject: Any, facts: Mapping[str, Any], event: Event, *, by: Actor, now: datetime) -> bool:
    """Set these fields and journal what changed, old and new; False if nothing did."""
    changed = {name: value for name, value in facts.items() if getattr(subject, name) != value}
    if not changed:
        return False
    before = {name: say(getattr(subject, name)) for name in changed}
    for name, value in changed.items():
        setattr(subject, name, value)
    record(event, subject, by=by, now=now, before=before, after={name: say(value) for name, value in changed.items()})
    return True


def say(value: Any) -> Any:
    """A value as the journal keeps it: words, numbers, yes and no; nothing where it is empty."""
    if value == "":
        return None
    if hasattr(value, "isoformat"):
        return value.isoformat()
    return getattr(value, "value", value)


def tidy(text: str) -> str:
    """One line, its white space folded."""
    return " ".join(text.split())
