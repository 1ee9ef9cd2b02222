"""Where a request comes from: the kind of browser in a word or two, and the address that tries are counted by."""

from __future__ import annotations

import ipaddress
from urllib.parse import urlsplit

from flask import request

SAFE = ("GET", "HEAD", "OPTIONS")  # methods that change nothing (RFC 9110, 9.2.1)


def is_our_page() -> bool:
    """Whether what a browser says of the page that sent this is that it is one of this site.

    By Origin; where there is none, by Sec-Fetch-Site; else by Referer. Browsers send one of them with every form unless they are
    told to hide where they are; what sends none is no browser that another site could use, and the page's token decides alone.
    """
    told, fetched, referrer = (request.headers.get(name, "") for name in ("Origin", "Sec-Fetch-Site", "Referer"))
    if told:
        return told.lower() == request.host_url.rstrip("/").lower()
    if fetched:
        return fetched == "same-origin"
    return not referrer or urlsplit(referrer).netloc.lower() == request.host.lower()


def agent() -> str:
    """The browser in a word or two: enough to tell a tablet from a desk."""
    told = request.user_agent.string
    for mark, name in (("iPad", "a tablet"), ("Tablet", "a tablet"), ("iPhone", "a phone"), ("Mobile", "a phone"),
                       ("Android", "a tablet")):
        if mark in told:
            return name
    return "a browser"


def address() -> str:
    """Where the request comes from, as what is counted by address: of IPv6 the network, since a host may pick the rest."""
    told = request.remote_addr or "unknown"
    try:
        found = ipaddress.ip_address(told)
    except ValueError:
        return f"address {told[:60]}"
    if isinstance(found, ipaddress.IPv6Address) and found.ipv4_mapped is None:
        return f"address {ipaddress.ip_network((found.packed[:8] + bytes(8), 64))}"
    return f"address {getattr(found, 'ipv4_mapped', None) or found}"
