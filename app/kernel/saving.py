"""Saving a form: once, all of it, and not over somebody else's change."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import sqlalchemy as sa
from flask import g, redirect, request, url_for
from flask import session as flasks
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm.exc import StaleDataError
from werkzeug.datastructures import FileStorage
from werkzeug.wrappers import Response

from app import clock
from app.db import session, transaction
from app.errors import AlreadyDone, BadInput, ChangedMeanwhile, Clash
from app.kernel.form_fields import House
from app.kernel.models import OnceKey
from app.kernel.resubmitted_uploads import mark_taken, take_once
from app.kernel.tokens import ONCE_FIELD, SECRET_FIELDS, SENT_COOKIE

SAID = "_flashes"  # where Flask keeps what is to be said on the next page
STALE = "This was saved after you opened the page. Your entries are below: choose which version to keep."


MOST_ASKED = 40  # keys looked up for one page
_KEY = re.compile(r"[0-9A-Za-z_-]{1,64}")


class Saved:
    """Where to go once it is saved. Calling it gives the 303 answer and remembers the place for a repeat."""

    def __init__(self) -> None:
        self.location = ""

    def __call__(self, endpoint: str, **values: Any) -> Response:
        self.location = url_for(endpoint, **values)
        return redirect(self.location, code=303)


@contextmanager
def saving() -> Iterator[Saved]:
    """The transaction of a POST.

        with saving() as saved:
            finding = service.record_finding(...)
            return saved("findings.page", order_id=order.id)

    A form that was saved before raises AlreadyDone with the place of its first outcome. A view that refuses the
    form leaves by an exception or before this block; leaving without `saved(...)` is a programming error.
    """
    key, saved, mark = request.form.get(ONCE_FIELD, ""), Saved(), _fingerprint()
    said = list(flasks.get(SAID, ()))
    try:
        with transaction() as current:
            _refuse_repeat(key, mark)
            take_once(key)
            yield saved
            mark_taken(key or mark)
            if key:
                signed_in = g.get("person")
                current.add(OnceKey(key=key, person_id=signed_in.id if signed_in else None, fingerprint=mark,
                                    location=saved.location, at=clock.now()))
    except BaseException as wrong:
        if SAID in flasks:
            flasks[SAID] = said  # what was to be said of a success that did not come
        _tell(wrong)
        raise


def _tell(wrong: BaseException) -> None:
    """What the database says of a save that somebody else came before, in the words of the house."""
    if isinstance(wrong, StaleDataError):
        raise ChangedMeanwhile(STALE) from wrong
    if isinstance(wrong, IntegrityError) and "once_key" in str(wrong.orig):
        raise AlreadyDone("This was saved already.", None) from wrong


def confirmed_keys() -> list[str]:
    """Of the forms that this browser sent and has heard nothing of, the keys of those that are saved by this person.

    Asked of the database and not remembered on the way: a page whose answer was lost is confirmed by the next one.
    """
    person = g.get("person")
    asked = [key for key in request.cookies.get(SENT_COOKIE, "").split(".") if _KEY.fullmatch(key)][:MOST_ASKED]
    if person is None or not asked:
        return []
    return list(session().scalars(sa.select(OnceKey.key).where(OnceKey.key.in_(asked), OnceKey.person_id == person.id)
                                  .order_by(OnceKey.key)))


def save_or_reshow(form: House, act: Callable[[Saved], Response]) -> Response | None:
    """Save what was posted; None if the page is to be shown (again), with what was refused beside its field."""
    if request.method != "POST" or not form.validate():
        return None
    try:
        with saving() as saved:
            return act(saved)
    except BadInput as wrong:
        form.add_error(wrong)
        return None


def check_fresh(record: Any, form: House | None = None) -> None:
    """Refuse if the record was saved since the page was opened; names each field that differs.

    Call it inside `saving()`, first. The page carries the record's version in the hidden field `version`.
    """
    opened = request.form.get("version", "")
    if not opened or opened == str(record.version):
        return
    clashes = tuple(Clash(field.label.text, _say(getattr(record, field.name)), _say(field.data))
                    for field in (form or ()) if hasattr(record, field.name)
                    and _say(getattr(record, field.name)) != _say(field.data))
    wrong = ChangedMeanwhile(STALE, clashes)
    wrong.version = record.version
    raise wrong


def _refuse_repeat(key: str, mark: str) -> None:
    found = session().get(OnceKey, key) if key else None
    if found is None:
        return
    if found.fingerprint != mark:
        raise AlreadyDone("This form was already saved with different entries. "
                          "Look at what is saved, then open the form again to enter the rest.", None)
    raise AlreadyDone("This was saved already.", found.location or None)


def _fingerprint() -> str:
    """What was entered, as a quick hash that stays with the key: so no password goes into it, which could be guessed from it."""
    facts = [request.path]
    facts += [f"{name}={value}" for name, value in sorted(request.form.items(multi=True)) if name not in SECRET_FIELDS]
    facts += [f"{name}={_digest(one)}" for name, one in request.files.items(multi=True) if one.filename]
    return hashlib.sha256("\x1f".join(facts).encode()).hexdigest()


def _digest(upload: FileStorage) -> str:
    """What is in a file that was sent: two photos from one page are two photos."""
    upload.stream.seek(0)
    found = hashlib.file_digest(upload.stream, "sha256").hexdigest()  # type: ignore[arg-type]
    upload.stream.seek(0)
    return found


def _say(value: Any) -> str:
    return "" if value is None else str(getattr(value, "value", value))
