"""Forms that arrived while nobody was signed in, or from a page whose token no longer fits: kept, never lost.

The fields go into the database, uploaded files into the data folder. The person who sent the form signs in and is shown
what was entered, with one button that sends it again. Nobody else ever sees it.
"""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from flask import current_app, g, request
from werkzeug.datastructures import FileStorage
from werkzeug.utils import secure_filename

from app import clock
from app.db import session, transaction
from app.errors import NotAllowed, NotFound
from app.web.models import HeldPost
from app.web.tokens import CSRF_FIELD

HELD_FIELD = "held_post"
KEPT_FOR = timedelta(days=7)
NEVER_HELD = frozenset({CSRF_FIELD, "password", "new_password", "pin", "new_pin"})


@dataclass(frozen=True)
class HeldFile:
    """A file that was uploaded with a held form."""

    field: str
    name: str
    media_type: str
    file: str


def hold(person_id: int | None) -> str:
    """Keep the form of this request; returns the id under which its sender finds it again."""
    held_id = secrets.token_urlsafe(24)
    folder = _folder() / held_id
    files: list[dict[str, str]] = []
    for field, upload in request.files.items(multi=True):
        if upload.filename:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            name = f"{len(files)}"
            upload.save(folder / name)
            files.append({"field": field, "name": secure_filename(upload.filename) or "photo",
                          "media_type": upload.mimetype, "file": name})
    fields = [[name, value] for name, value in request.form.items(multi=True) if name not in NEVER_HELD]
    with transaction() as current:
        current.add(HeldPost(id=held_id, person_id=person_id, path=request.path, fields=json.dumps(fields),
                             files=json.dumps(files), at=clock.now()))
    return held_id


def take(held_id: str, person_id: int, now: datetime) -> HeldPost:
    """The held form, for the person who sent it."""
    found = session().get(HeldPost, held_id)
    if found is None or now - found.at > KEPT_FOR:
        raise NotFound("What was held here is gone: it is kept for seven days.")
    if found.person_id not in (None, person_id):
        raise NotAllowed("This was entered by somebody else; it waits for their sign-in.")
    return found


def fields_of(held: HeldPost) -> list[tuple[str, str]]:
    """Name and value of every field that was entered."""
    return [(name, value) for name, value in json.loads(held.fields)]


def files_of(held: HeldPost) -> list[HeldFile]:
    """The files that came with it."""
    return [HeldFile(**one) for one in json.loads(held.files)]


def uploads(field: str) -> list[FileStorage]:
    """What was uploaded in this field, now or with the held form that is being sent again."""
    found = [one for one in request.files.getlist(field) if one.filename]
    held_id, signed_in = request.form.get(HELD_FIELD, ""), g.get("person")
    person_id = signed_in.id if signed_in is not None else None
    held = session().get(HeldPost, held_id) if held_id else None
    if held is not None and held.person_id in (None, person_id):
        for one in files_of(held):
            path = _folder() / held.id / one.file
            if one.field == field and path.is_file():
                found.append(FileStorage(path.open("rb"), one.name, field, one.media_type))
    return found


def _folder() -> Path:
    data: Path = current_app.config["DATA"]
    return data / "held"
