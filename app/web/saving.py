"""Saving a form: once, all of it, and not over somebody else's change."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from flask import g, redirect, request, url_for
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm.exc import StaleDataError
from werkzeug.wrappers import Response

from app import clock
from app.db import session, transaction
from app.errors import AlreadyDone, ChangedMeanwhile, Clash
from app.web.house import House
from app.web.models import OnceKey
from app.web.tokens import CSRF_FIELD, ONCE_FIELD

STALE = "Somebody else saved this while your page was open. Nothing of yours is lost: choose which stands."


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
            return saved("teardown.page", order_id=order.id)

    A form that was saved before raises AlreadyDone with the place of its first outcome. A view that refuses the
    form leaves by an exception or before this block; leaving without `saved(...)` is a programming error.
    """
    key, saved = request.form.get(ONCE_FIELD, ""), Saved()
    try:
        with transaction() as current:
            _refuse_repeat(key)
            yield saved
            if key:
                signed_in = g.get("person")
                current.add(OnceKey(key=key, person_id=signed_in.id if signed_in else None, fingerprint=_fingerprint(),
                                    location=saved.location, at=clock.now()))
    except StaleDataError as stale:
        raise ChangedMeanwhile(STALE) from stale
    except IntegrityError as twice:
        if "once_key" not in str(twice.orig):
            raise
        raise AlreadyDone("This was saved already.", None) from twice


def check_fresh(record: Any, form: House | None = None) -> None:
    """Refuse if the record was saved since the page was opened; names each field that differs.

    Call it inside `saving()`, first. The page carries the record's version in the hidden field `version`.
    """
    opened = request.form.get("version", "")
    if not opened or int(opened) == record.version:
        return
    clashes = tuple(Clash(field.label.text, _say(getattr(record, field.name)), _say(field.data))
                    for field in (form or ()) if hasattr(record, field.name)
                    and _say(getattr(record, field.name)) != _say(field.data))
    wrong = ChangedMeanwhile(STALE, clashes)
    wrong.version = record.version
    raise wrong


def _refuse_repeat(key: str) -> None:
    found = session().get(OnceKey, key) if key else None
    if found is None:
        return
    if found.fingerprint != _fingerprint():
        raise AlreadyDone("A form from this page was saved before, with other entries. "
                          "Look at what stands, then enter the rest on a fresh page.", None)
    raise AlreadyDone("This was saved already.", found.location or None)


def _fingerprint() -> str:
    facts = [request.path]
    facts += [f"{name}={value}" for name, value in sorted(request.form.items(multi=True)) if name != CSRF_FIELD]
    return hashlib.sha256("\x1f".join(facts).encode()).hexdigest()


def _say(value: Any) -> str:
    return "" if value is None else str(getattr(value, "value", value))
