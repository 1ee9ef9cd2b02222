"""What was uploaded with a form that comes back: kept for its sender, and taken along by the next try, once.

A browser empties its file fields when a page is shown again. So what was in them is kept on the shelf; the page names
the files and carries a reference, and `uploads` gives them with those that are picked anew. `saving` marks what went in.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass

from flask import flash, g, has_request_context, request
from werkzeug.datastructures import FileStorage

from app import clock
from app.db import session
from app.errors import AlreadyDone
from app.kernel import upload_holding as shelf
from app.kernel.local_forms import counted
from app.kernel.models import HeldPost
from app.kernel.tokens import ONCE_FIELD
from app.kernel.upload_holding import HeldFile, Waiting

HELD_FIELD, KEPT_FIELD, LEAVE_FIELD = "held_post", "kept_files", "leave_out"
USED = "The photos kept with this page were saved already."
GONE = "The files kept with this page are not there any more: they are kept for seven days, for who sent them. Pick them again."


@dataclass(frozen=True)
class Kept:
    """What a page that comes back says of one file field."""

    id: str
    files: tuple[HeldFile, ...]
    lost: tuple[str, ...]  # names for which there was no room

    @property
    def words(self) -> str:
        """2 photos are kept: a.jpg, b.jpg."""
        names = ", ".join(one.name for one in self.files)
        word = "photo" if all(one.media_type.startswith("image/") for one in self.files) else "file"
        return f"{counted(len(self.files), f'{word} is', f'{word}s are')} kept: {names}."

    @property
    def lost_words(self) -> str:
        """What there was no room for; empty if nothing."""
        return f"Not kept, there is no room for it: {', '.join(self.lost)}. Pick it again." if self.lost else ""


def uploads(field: str) -> list[FileStorage]:
    """What was uploaded in this field: now, with the tries before, or with the held form that is being sent again."""
    return [one for name, one in _sent() if name == field]


def not_taken(upload: FileStorage) -> None:
    """This one is no photo that can be read: it was said, and is not kept for the next try."""
    if has_request_context():
        g.setdefault("not_taken", []).append(upload)


def keep() -> str:
    """Keep what was uploaded with this request, for the page that shows its form again; the reference, empty if nothing was."""
    if "kept_id" not in g:
        refused = g.get("not_taken", [])
        given = [(name, one) for name, one in _sent() if not any(one is other for other in refused)]
        who = _sender()
        try:
            g.kept_id = shelf.put(f"person {who}", request.path, given, clock.now()).id if given and who else ""
        except OSError:  # a full disk, say; the page names what was not kept
            g.kept_id, g.not_kept = "", [(name, one.filename or "photo") for name, one in given]
    found: str = g.kept_id
    return found


def kept_with(field: str) -> Kept | None:
    """What is kept of this field, for the page that is being shown; None if nothing is."""
    key = keep() if request.method == "POST" else request.args.get(KEPT_FIELD, "")
    found = _own(key)
    files = [one for one in found.files if one.field == field] if found else []
    lost = [*(one.name for one in files if not one.file), *(file for name, file in g.get("not_kept", ()) if name == field)]
    return Kept(key, tuple(one for one in files if one.file), tuple(lost)) if files or lost else None


def kept_words() -> str:
    """All that is kept of this request, in a sentence; empty if nothing is."""
    fields = dict.fromkeys(name for name, _ in _sent())
    found = [one for one in map(kept_with, fields) if one is not None]
    return " ".join(filter(None, (words for one in found for words in (one.words if one.files else "", one.lost_words))))


def take_once(key: str) -> None:
    """Inside `saving`: what is kept goes into one record only. AlreadyDone if another form took it."""
    for one in _referred():
        if one.used and one.used != key and one.id in g.get("took_from", ()):
            raise AlreadyDone(f"{USED} Look at what stands.", None)


def mark_taken(key: str) -> None:
    """Inside `saving`, at its end: these are in what is being saved. A repeat of the same form still finds them."""
    for one in _referred():
        shelf.use(one, key)


def close_files(_error: BaseException | None = None) -> None:
    """Called when a request ends."""
    for _, one in g.pop("sent", ()):
        one.close()
    for name in ("kept_id", "not_kept", "not_taken", "took_from"):
        g.pop(name, None)


def look_back() -> None:
    """Say it before the page is made if what it refers to is gone."""
    if request.form.get(KEPT_FIELD):
        _sent()


def _sent() -> list[tuple[str, FileStorage]]:
    """Every file of this request with its field; one that was kept and is picked again counts once."""
    if "sent" not in g:
        g.sent = [(name, one) for name, one in request.files.items(multi=True) if one.filename]
        seen = {(name, _digest(one)) for name, one in g.sent}
        for name, one in _from_before():
            mark = (name, _digest(one))
            if mark in seen:
                one.close()
            else:
                seen.add(mark)
                g.sent.append((name, one))
    found: list[tuple[str, FileStorage]] = g.sent
    return found


def _from_before() -> Iterator[tuple[str, FileStorage]]:
    left_out = set(request.form.getlist(LEAVE_FIELD))
    waiting = [*_referred()]
    if len(waiting) < len(set(filter(None, request.form.getlist(KEPT_FIELD)))):
        flash(GONE, "refused")
    if held := _held():
        waiting.append(held)
    for each in waiting:
        if each.used and each.used != request.form.get(ONCE_FIELD):
            flash(USED, "refused")
            continue
        g.setdefault("took_from", set()).add(each.id)
        for one in each.files:
            path = shelf.path_of(each, one)
            if one.file and f"{each.id}:{one.file}" not in left_out and path.is_file():
                yield one.field, FileStorage(path.open("rb"), one.name, one.field, one.media_type)


def _referred() -> list[Waiting]:
    """What this form refers to, if it is its sender's own."""
    found = [_own(key) for key in dict.fromkeys(request.form.getlist(KEPT_FIELD))]
    return [one for one in found if one is not None]


def _sender() -> int | None:
    """Who sent this; while the database is away, whose sign-in it was when that was last seen."""
    who = g.get("person")
    found: int | None = who.id if who is not None else g.get("sender_id")
    return found


def _own(key: str) -> Waiting | None:
    found, who = shelf.find(key, clock.now()) if key else None, g.get("person")
    return found if found is not None and who is not None and found.who == f"person {who.id}" else None


def _held() -> Waiting | None:
    """The held form that is being sent again, if it is its sender's own."""
    key, who = request.form.get(HELD_FIELD, ""), g.get("person")
    found = shelf.find(key, clock.now()) if key else None
    row = session().get(HeldPost, found.id) if found is not None else None
    return found if row is not None and who is not None and row.person_id == who.id else None


def _digest(upload: FileStorage) -> str:
    upload.stream.seek(0)
    found = hashlib.file_digest(upload.stream, "sha256").hexdigest()  # type: ignore[arg-type]
    upload.stream.seek(0)
    return found
