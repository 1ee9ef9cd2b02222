"""Adding, describing and withdrawing drawings, and the pins on them."""

from __future__ import annotations

import math
from datetime import datetime

from app.db import session
from app.drawings.models import Drawing, DrawingPin
from app.drawings.prepare import PreparedDrawing
from app.drawings.spec import ON_THE_DRAWING, DrawingFacts
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.spec import columns, journal_facts


def add_drawing(facts: DrawingFacts, file: PreparedDrawing, *, by: Actor, now: datetime) -> Drawing:
    """A drawing of a model, whose file is in the store."""
    given = facts.checked()
    made = Drawing(**columns(given), sha256=file.sha256, web_sha256=file.web_sha256, thumb_sha256=file.thumb_sha256,
                   media_type=file.media_type, width=file.width, height=file.height, added_at=now, added_by=by.name)
    session().add(made)
    record(Event.DRAWING_ADDED, made, by=by, now=now, after={**journal_facts(given, DrawingFacts), "SHA-256": file.sha256})
    return made


def change_drawing(drawing: Drawing, facts: DrawingFacts, *, by: Actor, now: datetime) -> None:
    """Say better what it draws and where it is from."""
    _must_stand(drawing)
    given = facts.checked()
    before, after = journal_facts(drawing, DrawingFacts), journal_facts(given, DrawingFacts)
    changed = [name for name in after if after[name] != before[name]]
    if changed:
        for name, value in columns(given).items():
            setattr(drawing, name, value)
        record(Event.DRAWING_CHANGED, drawing, by=by, now=now, before={name: before[name] for name in changed},
               after={name: after[name] for name in changed})


def withdraw_drawing(drawing: Drawing, *, reason: str, by: Actor, now: datetime) -> None:
    """Offer it no more, with a reason; its file and its row stay."""
    _must_stand(drawing)
    said = " ".join(reason.split())
    if not said:
        raise BadInput("Enter why the drawing is withdrawn.", "reason")
    drawing.withdrawn_at, drawing.withdrawn_by, drawing.withdrawn_reason = now, by.name, said
    record(Event.DRAWING_WITHDRAWN, drawing, by=by, now=now, before=journal_facts(drawing, DrawingFacts),
           after={"withdrawn": True}, reason=said)


def add_pin(drawing: Drawing, note: str, x: float, y: float, *, by: Actor, now: datetime) -> DrawingPin:
    """A note on a place of the picture, x and y from 0 to 1. It gets the next number, which no other pin ever had."""
    _must_stand(drawing)
    if drawing.is_pdf:
        raise RuleBroken("A pin lies on a picture. Add the page as a picture to put pins on it.")
    said = " ".join(note.split())
    if not said:
        raise BadInput("Enter what the pin says.", "note")
    for field, one in (("across", x), ("down", y)):
        if not (math.isfinite(one) and 0 <= one <= 1):
            raise BadInput(ON_THE_DRAWING, field)
    made = DrawingPin(drawing=drawing, number=max((one.number for one in drawing.pins), default=0) + 1, x=x, y=y, note=said,
                      at=now, by_name=by.name)
    session().add(made)
    record(Event.DRAWING_PIN_ADDED, made, by=by, now=now, after=_pin_facts(made))
    return made


def withdraw_pin(pin: DrawingPin, *, by: Actor, now: datetime) -> None:
    """Show it no more."""
    _must_stand(pin.drawing)
    if pin.withdrawn_at is None:
        pin.withdrawn_at, pin.withdrawn_by = now, by.name
        record(Event.DRAWING_PIN_WITHDRAWN, pin, by=by, now=now, before=_pin_facts(pin))


def _must_stand(drawing: Drawing) -> None:
    if drawing.withdrawn_at is not None:
        raise RuleBroken("This drawing is withdrawn. Add it again if it is needed after all.")


def _pin_facts(pin: DrawingPin) -> dict[str, object]:
    return {"drawing": pin.drawing_id, "pin": pin.number, "note": pin.note, "where": f"{pin.x:.1%} across, {pin.y:.1%} down"}
