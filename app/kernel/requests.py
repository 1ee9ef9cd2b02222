"""Around every request: refuse what another site sends, and the headers that keep a page to itself."""

from __future__ import annotations

import secrets
from urllib.parse import unquote

from flask import current_app, g, request
from werkzeug.wrappers import Response

from app.errors import BadInput
from app.kernel.cookies import set_cookie
from app.kernel.form_fields import NO_SIGN
from app.kernel.origin import SAFE, is_our_page
from app.kernel.refusals import OtherSite
from app.kernel.tokens import VISIT_COOKIE

# Scripts: the page's first module by its nonce, and what that loads. 'self' is for browsers that do not know 'strict-dynamic',
# which says that nothing else counts. No text becomes markup or code by script: what modules show of an answer came as a document.
POLICY = ("default-src 'none'; script-src {scripts}; style-src 'self'; img-src 'self' blob:; font-src 'self'; connect-src 'self'; "
          "manifest-src 'self'; form-action 'self'; base-uri 'none'; object-src 'none'; frame-ancestors 'none'; "
          "require-trusted-types-for 'script'; trusted-types 'none'")
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
}


def refuse_other_sites() -> None:
    """A form that another site's page sent is no form of ours: it is not held either, to be sent on with one press."""
    if NO_SIGN in unquote(request.full_path):
        raise BadInput("There is a sign in this address that cannot be kept. Open the page from a link.")
    if request.method not in SAFE and not is_our_page():
        raise OtherSite("This form did not come from this page. Open the page and enter it here.")


def csp_nonce() -> str:
    """Of this answer alone: 128 random bits, as CSP Level 3 (7.1) asks."""
    if "csp_nonce" not in g:
        g.csp_nonce = secrets.token_urlsafe(16)
    found: str = g.csp_nonce
    return found


def finish(response: Response) -> Response:
    """Headers, caching, and the cookie of the visit."""
    nonce = g.get("csp_nonce")
    response.headers.setdefault("Content-Security-Policy", POLICY.format(
        scripts=f"'self' 'nonce-{nonce}' 'strict-dynamic'" if nonce else "'none'"))
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if request.endpoint == "static":
        # An address with its content's hash never changes its content; a module that another imports has none.
        response.headers["Cache-Control"] = "public, max-age=31536000, immutable" if "v" in request.args else "no-cache"
    elif request.endpoint != "device.font":
        response.headers.setdefault("Cache-Control", "no-store")
    secure: bool = current_app.config["SECURE_COOKIES"]
    if visit := g.get("visit"):
        set_cookie(response, VISIT_COOKIE, visit)
    if secure:
        response.headers["Strict-Transport-Security"] = "max-age=31536000"
    return response
