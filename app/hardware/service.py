"""Making a class of hardware where it is first counted."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput
from app.hardware.models import HardwareClass
from app.hardware.queries import label_of
from app.hardware.rules import Hardware, read_class
from app.journal.events import Event
from app.journal.service import Actor, record


def class_of(text: str, *, by: Actor, now: datetime) -> HardwareClass:
    """The class that a text names, made if nobody has counted one yet. BadInput for no text."""
    label = label_of(text)
    if not label:
        raise BadInput("Enter what kind of piece.", "piece")
    there = session().scalar(sa.select(HardwareClass).where(HardwareClass.label == label))
    return there or _make(read_class(label), by, now)


def _make(said: Hardware, by: Actor, now: datetime) -> HardwareClass:
    hardware_class = HardwareClass(kind=said.kind, thread=said.thread, length=said.length, head=said.head, finish=said.finish,
                                   label=said.label, made_at=now, made_by=by.name)
    session().add(hardware_class)
    told = {"kind": said.kind, "thread": said.thread, "length": said.length, "head": said.head, "finish": said.finish}
    record(Event.HARDWARE_CLASS_MADE, hardware_class, by=by, now=now, after={name: words for name, words in told.items() if words})
    return hardware_class
