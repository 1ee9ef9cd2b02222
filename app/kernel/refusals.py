"""Turning a refusal into a page that says what happened, what was kept and what to do."""

from __future__ import annotations

import errno
import logging
import secrets
from collections.abc import Callable
from urllib.parse import urlsplit, urlunsplit

from flask import Flask, current_app, flash, g, redirect, render_template, request
from sqlalchemy.exc import DataError, InterfaceError, InternalError, OperationalError, SQLAlchemyError
from sqlalchemy.exc import TimeoutError as PoolTimeout
from werkzeug.exceptions import HTTPException, RequestEntityTooLarge
from werkzeug.wrappers import Response

from app.db import database, end_reading
from app.errors import AlreadyDone, ChangedMeanwhile, GateClosed, Missing, NotAllowed, NotFound, RuleBroken
from app.kernel.device_choices import page_globals
from app.kernel.door_log import What, note
from app.kernel.links import here_only
from app.kernel.resubmitted_uploads import HELD_FIELD, KEPT_FIELD, LEAVE_FIELD, keep, kept_words
from app.kernel.tokens import CSRF_FIELD, ONCE_FIELD, SECRET_FIELDS, UNSEEN_FIELDS, csrf_fits

log = logging.getLogger("tagstrip")
FULL = "The disk is full, so nothing was saved. Free some space first. What is there can still be read and printed."
READ_ONLY = "The data folder can only be read at the moment, so nothing was saved. Reading and printing still work."
BROKEN = "The disk does not work as it should, so nothing was saved. Have it looked at, and see that there is a backup elsewhere."
AWAY = "The database does not answer, so nothing was saved. Tagstrip goes on by itself as soon as it does."
OF_A_DISK = {errno.ENOSPC: FULL, errno.EDQUOT: FULL, errno.EROFS: READ_ONLY, errno.EIO: BROKEN}
OF_A_DATABASE = {"disk is full": FULL, "no space left": FULL, "readonly": READ_ONLY, "read-only": READ_ONLY, "i/o error": BROKEN}


class NotOurPage(NotAllowed):
    """A form from no page of this sign-in: what was entered is shown, and cannot be sent on with one press."""

    title, noted = "Not saved", What.OTHER_PAGE


class OtherSite(NotAllowed):
    """A form that a page of another site sent."""

    title, noted = "Not saved", What.OTHER_SITE


def install(app: Flask) -> None:
    """Register a handler for every way of saying no."""
    app.register_error_handler(RuleBroken, _refused)
    app.register_error_handler(AlreadyDone, _already)
    app.register_error_handler(HTTPException, _http)
    for kind in (OperationalError, InternalError, InterfaceError, PoolTimeout):
        app.register_error_handler(kind, _store_trouble)
    app.register_error_handler(OSError, _disk_trouble)
    app.register_error_handler(OverflowError, _unstorable)
    app.register_error_handler(DataError, _unstorable)
    app.register_error_handler(Exception, _unexpected)


def posted(*, leave_out: tuple[str, ...] = ()) -> list[tuple[str, str]]:
    """What was entered, to be sent again from the page that refuses it."""
    hidden = {*SECRET_FIELDS, ONCE_FIELD, HELD_FIELD, KEPT_FIELD, LEAVE_FIELD, *leave_out}
    entered = [(name, value) for name, value in request.form.items(multi=True) if name not in hidden]
    return [*entered, (KEPT_FIELD, keep())] if keep() else entered


def _refused(wrong: RuleBroken) -> tuple[str, int]:
    if isinstance(wrong, NotAllowed):
        note(getattr(wrong, "noted", What.REFUSED))
    if isinstance(wrong, ChangedMeanwhile):
        return _shown(lambda: render_template("errors/changed.html", wrong=wrong, posted=posted(leave_out=("version",)),
                                              path=request.path, kept=kept_words(), kept_id=keep()), wrong.status)
    missing = wrong.missing if isinstance(wrong, GateClosed) else ()
    again = not isinstance(wrong, AlreadyDone | NotAllowed | NotFound)
    return _page(wrong.title, wrong.words, wrong.status, missing, again=again)


def _page(title: str, words: str, status: int, missing: tuple[Missing, ...] = (), *, again: bool = True) -> tuple[str, int]:
    """The refusal with all that was entered, so that nothing typed or picked is lost. `again`: sending the same may help."""
    def draw() -> str:
        entered = posted() if g.get("person") else []
        typed = any(value for name, value in entered if name not in UNSEEN_FIELDS)
        return render_template("errors/refused.html", title=title, words=words, missing=missing, posted=entered, typed=typed,
                               kept=kept_words() if entered else "", again=again, path=request.path, back="")
    return _shown(draw, status)


def _shown(draw: Callable[[], str], status: int) -> tuple[str, int]:
    """The page; if the database does not answer even for that, one that asks it nothing."""
    try:
        return draw(), status
    except SQLAlchemyError as wrong:
        log.error("The database does not answer: %s", getattr(wrong, "orig", None) or type(wrong).__name__)
        return _without_database(), 503


def _without_database() -> str:
    """In the house's face: what was entered, with the once key it had, as it may have been saved after all."""
    again = request.method == "POST"
    kept, lost = [], []
    if again:
        kept = [(name, value) for name, value in request.form.items(multi=True) if name not in SECRET_FIELDS]
        kept.append((CSRF_FIELD, request.form.get(CSRF_FIELD, "")))
        try:
            if reference := keep():
                kept.append((KEPT_FIELD, reference))
        except SQLAlchemyError:  # a form that was held before, whose owner cannot be looked up now
            log.warning("Files of a form were not kept: the database does not answer.")
        if not any(name == KEPT_FIELD for name, _ in kept):
            lost = [one.filename for _, one in request.files.items(multi=True) if one.filename]
    typed = any(value for name, value in kept if name not in UNSEEN_FIELDS)
    # Not by render_template: that asks the database for what every page knows.
    return current_app.jinja_env.get_template("errors/away.html").render(
        words=AWAY if again else AWAY.replace(", so nothing was saved", ""), posted=kept, typed=typed, again=again, lost=lost,
        held=len(request.files) - len(lost), path=request.full_path.rstrip("?"), theme=page_globals()["theme"])


def _already(wrong: AlreadyDone) -> Response | tuple[str, int]:
    if wrong.location:
        flash(wrong.words, "saved")
        return redirect(wrong.location, code=303)
    return _refused(wrong)


def _http(wrong: HTTPException) -> tuple[str, int] | HTTPException:
    code = wrong.code or 500
    if code < 400:
        return wrong
    words = {
        404: "There is nothing at this address.",
        405: "This address does not take that kind of request.",
        413: wrong.description or "",
    }.get(code, "The request could not be understood. Go back and try from the page itself.")
    title = "Too much at once" if isinstance(wrong, RequestEntityTooLarge) else "Not found" if code == 404 else "Request refused"
    if code == 413:
        note(What.TOO_LARGE)
    entered = posted() if g.get("too_large") and g.get("person") and csrf_fits() else []
    return _shown(lambda: render_template("errors/refused.html", title=title, words=words, missing=(), posted=entered,
                                          typed=bool(entered), kept="", again=True, path=request.path,
                                          back=page_of_form() if code == 413 else ""), code)


def page_of_form() -> str:
    """The page that the form was on, as far as can be known: where the browser says it was, else what lies at its address."""
    came_from = urlsplit(request.referrer or "")
    if came_from.netloc == request.host and came_from.path:
        return here_only(urlunsplit(("", "", came_from.path, came_from.query, "")))
    return page_at(request.path) or "/"


def page_at(path: str) -> str:
    """The same path if there is a page to be read at it, not only a form to be sent to it; else nothing."""
    try:
        current_app.url_map.bind("").match(path, method="GET")
    except HTTPException:
        return ""
    return path


def _store_trouble(wrong: SQLAlchemyError) -> tuple[str, int]:
    told = getattr(wrong, "orig", None) or type(wrong).__name__
    log.error("The database refused: %s", told)
    end_reading()
    words = next((said for sign, said in OF_A_DATABASE.items() if sign in str(told).lower()), AWAY)
    if words == READ_ONLY:
        database().connect_again = True
    return _page("Not saved" if request.method == "POST" else "Not possible at the moment", words, 503)


def _disk_trouble(wrong: OSError) -> tuple[str, int]:
    if wrong.errno not in OF_A_DISK:
        return _unexpected(wrong)
    log.error("The disk refused: %s", wrong)
    end_reading()
    return _page("Not saved", OF_A_DISK[wrong.errno], 503)


def _unstorable(_wrong: Exception) -> tuple[str, int]:
    """A number beyond what a database counts to, a sign that it does not keep: in an address or an entry."""
    end_reading()
    return _page("Request refused", "A number in this request is too large, or it has a character that cannot be stored.  "
                 "Nothing was saved; go back and enter it otherwise.", 422, again=False)


def _unexpected(wrong: Exception) -> tuple[str, int]:
    number = secrets.token_hex(4)
    end_reading()  # PostgreSQL answers nothing more in a transaction that broke, and the page asks
    log.exception("Incident %s", number, exc_info=wrong)
    return _page("Something broke", "Nothing of this step was saved. Try once more; if it happens again, "
                 f"tell whoever looks after Tagstrip this number: {number}.", 500)
