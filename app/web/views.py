"""Pages that belong to no room: health, fonts, theme, and forms that were held."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, g, jsonify, redirect, render_template, request, send_file
from werkzeug.wrappers import Response

from app import clock, health
from app.accounts.rules import May
from app.errors import NotFound
from app.web.fonts import font_files
from app.web.guard import may, person, public
from app.web.held import fields_of, files_of, take
from app.web.kept import HELD_FIELD
from app.web.links import here_only
from app.web.requests import set_cookie

bp = Blueprint("web", __name__)
A_YEAR = 365


@bp.get("/healthz")
@public
def healthz() -> tuple[Response, int]:
    found = health.look()
    return jsonify(found.as_dict()), 200 if found.ok else 503


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
    return render_template("web/held.html", path=found.path, fields=fields_of(found), files=files_of(found),
                           held_field=HELD_FIELD, held_id=held_id)


def page_globals() -> dict[str, Any]:
    """What every template knows about how this device wants its pages."""
    theme = request.cookies.get("tagstrip_theme", "auto")
    return {"theme": theme if theme in ("light", "dark") else "auto",
            "gloves": request.cookies.get("tagstrip_gloves") == "on", "person": g.get("person")}
