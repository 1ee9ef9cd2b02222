"""The shop writes its own terms: each edition is kept, dated, and says what it was held against."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.intake.models import ShopTerms
from app.intake.queries.terms import editions
from app.intake.terms import Terms
from app.intake.terms.paragraphs import as_text
from app.journal.events import Event
from app.journal.service import Actor, record

MOST_PARAGRAPHS = 30


@dataclass(frozen=True)
class Edition:
    """What the owner wrote: paragraphs of head and text; the day on which they were held against the law, and how."""

    paragraphs: tuple[tuple[str, str], ...]
    checked_on: date
    checked_against: str


def write_edition(shipped: Terms, what: Edition, *, today: date, by: Actor, now: datetime) -> ShopTerms:
    """Keep the next edition for this jurisdiction; orders signed before keep the text that was signed."""
    if not what.paragraphs:
        raise BadInput("Write at least one paragraph.", "text")
    if len(what.paragraphs) > MOST_PARAGRAPHS:
        raise BadInput(f"There are {len(what.paragraphs)} paragraphs. Use {MOST_PARAGRAPHS} or fewer: nobody reads more.", "text")
    if not what.checked_against.strip():
        raise BadInput("Enter what these terms were held against, and by whom.", "checked_against")
    if what.checked_on > today:
        raise BadInput("Enter today or an earlier day.", "checked_on")
    return _keep(shipped, [list(one) for one in what.paragraphs], what.checked_on, what.checked_against.strip(), by=by, now=now)


def use_shipped(shipped: Terms, *, today: date, by: Actor, now: datetime) -> ShopTerms:
    """The program's own set again; the shop's editions stay readable. RuleBroken if it is in force already."""
    newest = next(iter(editions(shipped.id)), None)
    if newest is None or not newest.paragraphs:
        raise RuleBroken("The program’s own set is in force already.")
    return _keep(shipped, [], today, f"the program’s own set, {shipped.title}", by=by, now=now)


def _keep(shipped: Terms, paragraphs: list[list[str]], checked_on: date, against: str, *, by: Actor, now: datetime) -> ShopTerms:
    before = next(iter(editions(shipped.id)), None)
    made = ShopTerms(jurisdiction=shipped.id, edition=before.edition + 1 if before else 1, paragraphs=paragraphs,
                     checked_on=checked_on, checked_against=against, at=now, by_name=by.name)
    session().add(made)
    record(Event.SHOP_TERMS_WRITTEN, made, by=by, now=now,
           before={"text": as_text(before.paragraphs) if before else None},
           after={"jurisdiction": shipped.title, "edition": made.edition, "text": as_text(paragraphs) or "the program’s own set",
                  "checked on": checked_on.isoformat(), "checked against": against})
    return made
