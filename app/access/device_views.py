"""Pages that belong to no room: fonts, theme, and forms that were held."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request, send_file
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import may, person
from app.access.rules import May
from app.errors import NotFound
from app.kernel.cookies import set_cookie
from app.kernel.fonts import font_files
from app.kernel.held_forms import fields_of, files_of, take
from app.kernel.links import here_only
from app.kernel.needs import public
from app.kernel.refusals import page_at
from app.kernel.resubmitted_uploads import HELD_FIELD

bp = Blueprint("device", __name__)
A_YEAR = 365


@bp.get("/fonts/<name>")
@public
def font(name: str) -> Response:
    path = font_files().get(name)
    if path is None:
        raise NotFound("There is no such font.")
    return send_file(path, max_age=A_YEAR * 86400)


@bp.post("/theme")
@public
def theme() -> Response:
    """Theme and glove mode: kept on this device, in a cookie."""
    answer = redirect(here_only(request.form.get("back", "/")), code=303)
    for name, allowed in (("theme", ("auto", "light", "dark")), ("gloves", ("on", "off"))):
        if request.form.get(name) in allowed:
            set_cookie(answer, f"tagstrip_{name}", request.form[name], days=A_YEAR)
    return answer


@bp.get("/held/<held_id>")
@may(May.SEE)
def held(held_id: str) -> str:
    """What was entered and not yet saved, with one button that sends it again."""
    found = take(held_id, person().id, clock.now())
    return render_template("access/held.html", path=found.path, fields=fields_of(found), files=files_of(found), at=found.at,
                           held_field=HELD_FIELD, held_id=held_id, page=page_at(found.path))
