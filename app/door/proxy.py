"""For whom a proxy speaks: what it says of the browser counts only if it was named at the start, and nobody else's does ever."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Network, IPv6Network, ip_address, ip_network
from typing import Any

from app.errors import RuleBroken

SPOKEN = ("HTTP_FORWARDED", "HTTP_VIA", "HTTP_X_REAL_IP", "HTTP_X_CLIENT_IP", "HTTP_TRUE_CLIENT_IP")  # and X-Forwarded-…


class NotOverProxy(RuleBroken):
    """A request that should have come by the proxy and over https, and did not."""

    status = 403


@dataclass(frozen=True)
class Told:
    """Who asks, and by which scheme and name they asked; empty: as the connection has it."""

    address: str
    scheme: str = ""
    host: str = ""

    def into(self, environ: dict[str, Any]) -> dict[str, Any]:
        """The same environment with this in it, and without any word of a proxy."""
        for name in [one for one in environ if one in SPOKEN or one.startswith("HTTP_X_FORWARDED_")]:
            del environ[name]
        environ["REMOTE_ADDR"] = self.address
        if self.scheme:
            environ["wsgi.url_scheme"] = self.scheme
        if self.host:
            environ["HTTP_HOST"] = self.host
        return environ


def read(given: Sequence[str]) -> tuple[IPv4Network | IPv6Network, ...]:
    """Addresses or networks as they were given. ValueError names the one that is neither."""
    return tuple(ip_network(one, strict=False) for one in given)


class Proxies:
    """The proxies that were named. With none, every request is its connection's."""

    def __init__(self, named: Sequence[IPv4Network | IPv6Network]) -> None:
        self._named = tuple(named)

    def told(self, peer: str, headers: Iterable[tuple[str, str]]) -> Told:
        """What is true of this request. NotOverProxy for one that a named proxy did not pass on, or not over https."""
        if not self._named:
            return Told(peer)
        if not self.names(peer):
            raise NotOverProxy("Open this shop under the address of its proxy.")
        said = list(headers)
        hops = [one.strip() for name, value in said if name == "x-forwarded-for" for one in value.split(",")]
        # From the nearest hop outwards: the first that is no proxy of ours is who asks. What stands before it anybody can write.
        asks = next((one for one in reversed(hops) if not self.names(one)), "")
        if not _is_address(asks):
            raise NotOverProxy("The proxy does not say whose request this is (X-Forwarded-For).")
        if _last(said, "x-forwarded-proto").lower() != "https":
            raise NotOverProxy("This shop is open over https only, and the proxy does not say that this request came over it "
                               "(X-Forwarded-Proto).")
        return Told(asks, "https", _last(said, "x-forwarded-host"))

    def names(self, address: str) -> bool:
        """Whether this is one of them."""
        return _is_address(address) and any(ip_address(address) in one for one in self._named)


def _last(headers: Iterable[tuple[str, str]], wanted: str) -> str:
    """What the nearest proxy said last."""
    found = [one.strip() for name, value in headers if name == wanted for one in value.split(",")]
    return found[-1] if found else ""


def _is_address(told: str) -> bool:
    try:
        ip_address(told)
    except ValueError:
        return False
    return True
