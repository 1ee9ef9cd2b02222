"""Where the discharge record stood before: that address leads on."""

from __future__ import annotations

from flask import redirect, url_for
from werkzeug.wrappers import Response

from app.access.guard import may
from app.access.rules import May
from app.findings.views.room import bp


@bp.route("/made-safe", methods=["GET", "POST"])
@may(May.SEE)
def made_safe(order_id: int) -> Response:
    """On to the discharge record; a page of before that is sent here is asked for every capacitor there."""
    return redirect(url_for("discharge.page", order_id=order_id), code=303)
