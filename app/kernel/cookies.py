"""Cookies that scripts cannot read, and the visit that page tokens are bound to before anybody signs in."""

from __future__ import annotations

import secrets

from flask import current_app, g, request
from werkzeug.wrappers import Response

from app.db import session


def cookie_name(name: str) -> str:
    """As the browser has it. Over https with a prefix by which it takes the cookie from this host alone, whole site and https only
    (RFC 6265bis, 4.1.3.2): no neighbour under the same name's end can lay one of its own.
    """
    return f"__Host-{name}" if current_app.config["SECURE_COOKIES"] else name


def cookie(name: str) -> str | None:
    """What the browser sent under this name."""
    return request.cookies.get(cookie_name(name))


def set_cookie(response: Response, name: str, value: str, *, days: int | None = None) -> None:
    """A cookie that scripts cannot read and other sites cannot send."""
    response.set_cookie(cookie_name(name), value, httponly=True, samesite="Lax", secure=current_app.config["SECURE_COOKIES"],
                        max_age=days * 86400 if days else None)


def drop_cookie(response: Response, name: str) -> None:
    """The browser forgets it. One with the prefix goes only by an answer that has its marks too."""
    response.delete_cookie(cookie_name(name), httponly=True, samesite="Lax", secure=current_app.config["SECURE_COOKIES"])


def rotate_visit() -> None:
    """A new visit after signing in or out, so that an old page token means nothing."""
    g.visit = secrets.token_urlsafe(16)
    session().expire_all()
