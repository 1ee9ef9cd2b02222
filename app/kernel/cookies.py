"""Cookies that scripts cannot read, and the visit that page tokens are bound to before anybody signs in."""

from __future__ import annotations

import secrets

from flask import current_app, g
from werkzeug.wrappers import Response

from app.db import session


def set_cookie(response: Response, name: str, value: str, *, days: int | None = None) -> None:
    """A cookie that scripts cannot read and other sites cannot send."""
    response.set_cookie(name, value, httponly=True, samesite="Lax", secure=current_app.config["SECURE_COOKIES"],
                        max_age=days * 86400 if days else None)


def rotate_visit() -> None:
    """A new visit after signing in or out, so that an old page token means nothing."""
    g.visit = secrets.token_urlsafe(16)
    session().expire_all()
