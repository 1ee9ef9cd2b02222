"""The two hidden fields of every form: one that proves the page is ours, one that makes a form count once."""

from __future__ import annotations

import hashlib
import hmac
import secrets

from flask import current_app, g, request
from markupsafe import Markup

from app.kernel.cookies import cookie

VISIT_COOKIE = "tagstrip_visit"
SIGN_IN_COOKIE = "tagstrip_sign_in"
SENT_COOKIE = "tagstrip_sent"  # keys of forms that this browser sent and has not heard of; its script writes it (draft.mjs)
DEVICE_COOKIE = "tagstrip_device"
CSRF_FIELD = "page_token"
ONCE_FIELD = "once"
OWN_PASSWORD = "own_password"  # noqa: S105 - the name of a field: whoever is signed in proves it, with any form that asks
# Never kept anywhere, shown again, or counted among the entries of a form.
SECRET_FIELDS = frozenset({CSRF_FIELD, OWN_PASSWORD, "password", "new_password", "now_password", "pin", "new_pin", "password_code",
                           "badge", "secret", "server_password"})
# What a form carries that nobody typed: not told where what was entered is told.
UNSEEN_FIELDS = frozenset({
    CSRF_FIELD, ONCE_FIELD, "version", "held_post", "kept_files", "leave_out", "about", "after", "also", "amp", "as_page",
    "power_up_item",
    "back", "confirmed", "confirmed_zone", "credential", "customer", "facts_sha256", "from", "held", "order", "photo_id", "pin_x",
    "pin_y", "quote", "replaces", "running", "same_view_as", "signature", "signer_id", "step", "text_sha256", "then",
    "told_minor", "total", "work",
})


def csrf_token() -> str:
    """Bound to the sign-in (or, before one, to the visit); it lives as long as that does and has no clock of its own."""
    return _token(bound_to())


def csrf_fits() -> bool:
    """Whether the posted page is one of ours for this sign-in."""
    return hmac.compare_digest(_given().encode(), csrf_token().encode())


def page_is_of(sign_in_hash: str) -> bool:
    """Whether the posted page was given to this sign-in, which may have ended since."""
    return hmac.compare_digest(_given().encode(), _token(f"sign-in:{sign_in_hash}").encode())


def _given() -> str:
    return request.form.get(CSRF_FIELD) or request.headers.get("X-Page-Token", "")


def _token(bound_to: str) -> str:
    key: bytes = current_app.config["SECRET_KEY"].encode()
    return hmac.new(key, bound_to.encode(), hashlib.sha256).hexdigest()


def csrf_field() -> Markup:
    return Markup('<input type="hidden" name="{}" value="{}">').format(CSRF_FIELD, csrf_token())


def draft_key() -> str:
    """The key to what this person has typed on a device and not yet sent: 256 bits, in hexadecimal digits.

    It stands on the pages of this person alone, so that what lies on a device is of no use to anybody after Switch; the same
    at the next sign-in, so that nothing that was typed is lost by one that ended.
    """
    key: bytes = current_app.config["SECRET_KEY"].encode()
    return hmac.new(key, f"drafts of person {g.person.id}".encode(), hashlib.sha256).hexdigest()


def once_field() -> Markup:
    """The same key again when a form is shown again, so that a repeat is known as one."""
    key = request.form.get(ONCE_FIELD) or secrets.token_hex(16)
    return Markup('<input type="hidden" name="{}" value="{}">').format(ONCE_FIELD, key)


def bound_to() -> str:
    """What a page is given to: the sign-in, or before one the visit."""
    signed_in = g.get("sign_in")
    if signed_in is not None:
        return f"sign-in:{signed_in.token_hash}"
    visit = g.get("visit") or cookie(VISIT_COOKIE)
    if not visit:
        visit = g.visit = secrets.token_urlsafe(16)
    return f"visit:{visit}"
