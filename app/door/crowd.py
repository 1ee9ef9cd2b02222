"""A cap on the open connections of one address, for what never becomes a request: silent ones, and half a greeting of TLS.

The server accepts connections by itself and tells nobody until a request's head is whole. So this looks, a few times a second,
at the sockets of this process, and ends those of an address that are too many. It holds a second reference to a socket while it
looks, so that none is taken for another; the server sees an ended connection and lets it go. Only where the system lists them
(Linux); elsewhere the server's own deadlines must do.
"""

from __future__ import annotations

import contextlib
import os
import socket
import threading
from collections import defaultdict
from pathlib import Path

from app.door.limits import CONNECTIONS_EACH
from app.door.proxy import Proxies

LISTED = Path("/proc/self/fd")
EVERY_SECONDS = 0.25


def watch(port: int, proxies: Proxies, most: int = CONNECTIONS_EACH) -> None:
    """Look after the connections to this port until the process ends."""
    if LISTED.is_dir():
        threading.Thread(target=Crowd(port, proxies, most).watch, daemon=True, name="crowd").start()


class Crowd:
    """The connections of this process to one port, by address."""

    def __init__(self, port: int, proxies: Proxies, most: int) -> None:
        self._port, self._proxies, self._most = port, proxies, most
        self._seen: dict[int, int] = {}  # socket (its inode) and when it was first seen, counted up
        self._count = 0

    def watch(self) -> None:
        """Until the process ends."""
        wait = threading.Event()
        while not wait.wait(EVERY_SECONDS):
            self.thin_out()

    def thin_out(self) -> int:
        """End the oldest of what is too much now; how many connections that were.

        Those of a named proxy are many people's, and stay. The oldest, so that a device whose connections were cut off in
        the middle of a greeting can always open another.
        """
        found: dict[str, list[tuple[int, int]]] = defaultdict(list)
        there: dict[int, int] = {}
        for number in (int(one.name) for one in LISTED.iterdir() if one.name.isdigit()):
            if address := _peer(number, self._port):
                with contextlib.suppress(OSError):
                    inode = os.fstat(number).st_ino
                    self._count += 1
                    there[inode] = self._seen.get(inode, self._count)
                    found[address].append((there[inode], number))
        self._seen = there
        return sum(_end(number, address, self._port) for address, ones in found.items() if not self._proxies.names(address)
                   for _, number in sorted(ones)[:max(0, len(ones) - self._most)])


def _peer(number: int, port: int) -> str:
    """Whose connection to our port this is; empty if it is none."""
    with contextlib.suppress(OSError), _again(number) as one:
        if one.family in (socket.AF_INET, socket.AF_INET6) and one.getsockname()[1] == port:
            return str(one.getpeername()[0]).removeprefix("::ffff:")
    return ""


def _end(number: int, address: str, port: int) -> bool:
    with contextlib.suppress(OSError), _again(number) as one:
        if one.getsockname()[1] == port and str(one.getpeername()[0]).removeprefix("::ffff:") == address:
            one.shutdown(socket.SHUT_RDWR)
            return True
    return False


def _again(number: int) -> socket.socket:
    """A second reference to an open socket; OSError if it is none."""
    copy = os.dup(number)
    try:
        return socket.socket(fileno=copy)
    except OSError:
        os.close(copy)
        raise
