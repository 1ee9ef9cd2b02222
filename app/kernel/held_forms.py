"""Forms that arrived while nobody was signed in, or from a page whose token no longer fits: kept, never lost.

The fields go into the database, uploaded files onto the shelf in the data folder. It is kept for the person to whom its page was
given, as its token shows, and for nobody else: whoever finds a browser that was left cannot have it saved in another's name. That
person signs in and is shown what was entered, where and when, with one button that sends it again.
"""

from __future__ import annotations

import json
from datetime import datetime

import sqlalchemy as sa
from flask import flash, request

from app import clock
from app.db import session, transaction
from app.errors import NotAllowed, NotFound
from app.kernel import upload_holding as shelf
from app.kernel.form_fields import NO_SIGN
from app.kernel.models import HeldPost
from app.kernel.tokens import SECRET_FIELDS, UNSEEN_FIELDS
from app.kernel.upload_holding import KEPT_FOR, HeldFile


def has_something() -> bool:
    """Whether anything was typed, chosen or picked: a press of a button alone is not kept, it is pressed again."""
    return any(one.filename for one in request.files.values()) or any(
        value for name, value in request.form.items(multi=True) if name not in UNSEEN_FIELDS | SECRET_FIELDS)


def hold(person_id: int) -> str:
    """Keep the form of this request for this person; returns the id under which it is found again. Says what it had no room for."""
    now = clock.now()
    given = [(field, one) for field, one in request.files.items(multi=True) if one.filename]
    kept = shelf.put(f"person {person_id}", request.path, given, now)
    if lost := [one.name for one in kept.files if not one.file]:
        flash(f"Not kept, there was no room for it: {', '.join(lost)}. Pick it again once you have signed in.", "refused")
    fields = [[name, value.replace(NO_SIGN, "")] for name, value in request.form.items(multi=True) if name not in SECRET_FIELDS]
    files = [vars(one) for one in kept.files]
    with transaction() as current:
        current.execute(sa.delete(HeldPost).where(HeldPost.id.not_in(shelf.standing_ids())))
        current.add(HeldPost(id=kept.id, person_id=person_id, path=request.path, fields=json.dumps(fields),
                             files=json.dumps(files), at=now))
    return kept.id


def take(held_id: str, person_id: int, now: datetime) -> HeldPost:
    """The held form, for the person who sent it."""
    found = session().get(HeldPost, held_id)
    if found is None or now - found.at > KEPT_FOR:
        raise NotFound("What was held here is gone: it is kept for seven days.")
    if found.person_id != person_id:
        raise NotAllowed("This was entered by someone else; it waits for their sign-in.")
    return found


def fields_of(held: HeldPost) -> list[tuple[str, str]]:
    """Name and value of every field that was entered."""
    return [(name, value) for name, value in json.loads(held.fields)]


def files_of(held: HeldPost) -> list[HeldFile]:
    """The files that came with it."""
    return [HeldFile(**one) for one in json.loads(held.files)]
