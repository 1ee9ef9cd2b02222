"""Under which host and origin a browser has the shop: a passkey counts for its host alone."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass

from flask import request


@dataclass(frozen=True)
class Site:
    """The shop as the browser has it: a key counts for its host alone."""

    host: str  # without a port
    origin: str

    def trouble(self) -> str | None:
        """Why no browser uses a passkey here; None if it may."""
        name = self.host.strip("[]")
        try:
            ipaddress.ip_address(name)
        except ValueError:
            pass
        else:
            return ("Passkeys do not work at an address of numbers. Open the shop by its host name over https to use one; "
                    "here sign in in another way.")
        if self.origin.startswith("https://") or name == "localhost" or name.endswith(".localhost"):
            return None
        return "Passkeys work over https only. Open the shop by its https address to use one; here sign in in another way."


def site() -> Site:
    """Of this request; behind a proxy that is named, by what the proxy says. The server answers to its own names only."""
    host = request.host.lower()
    return Site(host if host.endswith("]") else host.rsplit(":", 1)[0], request.host_url.rstrip("/").lower())
