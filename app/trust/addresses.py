"""Under which names and addresses this machine can be asked for pages."""

from __future__ import annotations

import contextlib
import re
import socket
import struct
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import ip_address, ip_network

ANY = ("0.0.0.0", "::", "")  # noqa: S104 - compared, not bound
LOCAL = ("localhost", "local", "lan", "internal", "home.arpa", "test")  # ends that no public name has
PRIVATE = tuple(map(ip_network, (
    "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8", "169.254.0.0/16", "100.64.0.0/10",
    "::1/128", "fc00::/7", "fe80::/10")))  # RFC 1918, 1122, 3927, 6598, 4291, 4193
# What links are made of: a name or an address and a port, and nothing else.
_HOST = re.compile(r"(?:\[(?P<six>[0-9a-f:.]+)\]|(?P<name>[a-z0-9._-]+))(?::\d{1,5})?")
SIOCGIFADDR = 0x8915  # Linux: the address of an interface


@dataclass(frozen=True)
class Asked:
    """Names first the plainest, addresses without brackets."""

    names: tuple[str, ...]
    ips: tuple[str, ...]


def of(host: str, names: Sequence[str] = ()) -> Asked:
    """What `--host` and `--name` stand for: the machine itself always, its own addresses if it listens on all."""
    every = [host, *names]
    ips = ["127.0.0.1", "::1", *(_own_ips() if host in ANY else [])]
    ips += [one for one in every if is_address(one) and one not in ANY]
    own = [f"{hostname()}.local", hostname(), "localhost"]
    return Asked(tuple(dict.fromkeys([*own, *(one.lower() for one in every if one not in ANY and not is_address(one))])),
                 tuple(dict.fromkeys(ips)))


def hostname() -> str:
    """This machine's short name, as mDNS would announce it."""
    return re.sub(r"[^a-z0-9-]", "-", socket.gethostname().split(".")[0].lower()).strip("-") or "localhost"


def is_address(name: str) -> bool:
    """Whether this is an IP address and not a name."""
    try:
        ip_address(name)
    except ValueError:
        return False
    return True


def is_ours(asked: str, names: Sequence[str]) -> bool:
    """Whether a Host header may be answered. A name of the wide internet that points here is not ours: with it a foreign
    page could read this one. An address cannot be made to point elsewhere, nor can a name that only this network knows.
    """
    told = _HOST.fullmatch(asked.strip().lower())
    if told is None:
        return False
    if told["six"]:
        return is_address(told["six"])
    name = told["name"].rstrip(".")
    return is_address(name) or name in {*(one.lower() for one in names), hostname(), "localhost"} or \
        name.endswith(tuple(f".{end}" for end in LOCAL))


def _own_ips() -> list[str]:
    found: list[str] = []
    with contextlib.suppress(OSError):
        found += [str(one[4][0]) for one in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    if sys.platform == "linux":
        import fcntl

        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
            for _, name in socket.if_nameindex():
                with contextlib.suppress(OSError):
                    told = fcntl.ioctl(asking.fileno(), SIOCGIFADDR, struct.pack("256s", name.encode()[:15]))
                    found.append(socket.inet_ntoa(told[20:24]))
    return [one for one in dict.fromkeys(found) if any(ip_address(one) in net for net in PRIVATE)]
