"""Forms that are more than a page works with: refused, with what was typed beside the files kept.

The front of the server hands over a form of somebody who signed in here even when it is far too long (`app/door`): its
words are read and its files dropped, so that the refusal can show what was typed and offer to save it without them.
"""

from __future__ import annotations

import io

from flask import current_app, g, request
from werkzeug.datastructures import ImmutableMultiDict
from werkzeug.exceptions import RequestEntityTooLarge
from werkzeug.formparser import FormDataParser
from werkzeug.wsgi import get_input_stream

from app.kernel.origin import SAFE
from app.kernel.sizes import KEPT_BODY, LARGEST_BODY, MEGABYTE, SMALL_BODY

WITH_FILES = "multipart/form-data"
DROPPED = "tagstrip.body_dropped"  # the front's word for a body of which nothing was kept
UNKNOWN = (f"Someone who is not signed in can send text only, up to {SMALL_BODY // 1024} kB. Sign in, open the page again and "
           "send it from there.")
TOO_MUCH = (f"That is more than the {LARGEST_BODY // MEGABYTE} MB that can be sent at once. None of its files were kept. Send "
            "fewer photos, each up to 25 MB.")
TOO_WORDY = "That is more text, or more fields, than one form can have. Nothing was saved."


class _Nowhere(io.BytesIO):
    """Where the bytes of a dropped file go."""

    def write(self, data: object) -> int:
        return len(data)  # type: ignore[arg-type]


def refuse(*, known: bool) -> None:
    """RequestEntityTooLarge for a form that is too much; what was typed in it stands in `request.form` then.

    `known`: of somebody who is signed in, or was until lately.
    """
    if request.method in SAFE:
        return
    size = request.content_length or 0
    if size > SMALL_BODY and not known:
        _use(())
        raise RequestEntityTooLarge(UNKNOWN)
    if size > LARGEST_BODY:
        _use(_typed(size))
        raise RequestEntityTooLarge(TOO_MUCH)
    # Werkzeug bounds the text of a form with files only; one without is read at once, whatever its size.
    if request.mimetype != WITH_FILES and size > current_app.config["MAX_FORM_MEMORY_SIZE"]:
        _use(())
        raise RequestEntityTooLarge(TOO_WORDY)
    try:
        request.form  # noqa: B018 - read now, so that no page finds only later that it cannot be read
    except RequestEntityTooLarge:
        _use(())
        raise RequestEntityTooLarge(TOO_WORDY) from None


def _typed(size: int) -> list[tuple[str, str]]:
    if size > KEPT_BODY or DROPPED in request.environ or request.mimetype != WITH_FILES:
        return []
    parser = FormDataParser(stream_factory=lambda *_, **__: _Nowhere(), max_form_parts=current_app.config["MAX_FORM_PARTS"],
                            max_form_memory_size=current_app.config["MAX_FORM_MEMORY_SIZE"])
    try:
        _, form, _ = parser.parse(get_input_stream(request.environ), request.mimetype, size, request.mimetype_params)
    except RequestEntityTooLarge:
        return []
    return list(form.items(multi=True))


def _use(fields: list[tuple[str, str]] | tuple[()]) -> None:
    """These are the form from here on: nothing reads the body again."""
    found = vars(request)
    found["form"], found["files"], found["stream"] = ImmutableMultiDict(fields), ImmutableMultiDict(), io.BytesIO()
    g.too_large = True
