"""How a device comes to trust this shop's https: the authority's certificate, and the steps in plain words."""

from __future__ import annotations

from flask import Blueprint, Response, current_app, render_template

from app.errors import NotFound
from app.kernel.needs import public
from app.trust import tls

bp = Blueprint("trust", __name__)


@bp.get("/ca.crt")
@public
def ca() -> Response:
    """The certificate of this shop's authority; public, as every certificate is."""
    answer = Response(_authority(), mimetype="application/x-x509-ca-cert")
    answer.headers["Content-Disposition"] = 'attachment; filename="tagstrip-ca.crt"'
    return answer


@bp.get("/trust")
@public
def trust() -> str:
    """The steps for each kind of device."""
    told = tls.fingerprint(_authority())
    pairs = told.split(":")
    return render_template("trust/trust.html", groups=[":".join(pairs[at:at + 4]) for at in range(0, len(pairs), 4)],
                           modules=tls.qr(told), fingerprint=told)


def _authority() -> bytes:
    found = tls.authority_der(current_app.config["DATA"])
    if found is None:
        raise NotFound("This shop is served without https. Whoever runs the machine can turn it on: serve --tls.")
    return found
