"""The https port: what a connection says first decides who answers it.

TLS begins with a record of the kind "handshake" (RFC 8446, 5.1: a byte of 22, the version, the length). Such a connection is
passed on, unread and unchanged, to the server, which listens on this machine alone; plain http is told in words where the shop is;
anything else is let go. The server sees only connections from here, so each is remembered with the address it is of.
"""

from __future__ import annotations

import asyncio
import contextlib
import re
import socket
import threading
import time
from collections.abc import Callable
from typing import Any, Protocol

from app.door import limits
from app.kernel.door_log import What

HANDSHAKE, LONGEST_RECORD = 22, 16384 + 256  # RFC 8446, 5.2
HEAD = re.compile(rb"(?P<method>[A-Z]{3,10}) [^\r\n]* HTTP/1\.[01]\r?\n")
HOST = re.compile(rb"\nhost:[ \t]*(?P<host>[^\r\n]*?)[ \t]*\r?\n", re.IGNORECASE)
LONGEST_HEAD = 16 * 1024
READ_AWAY = 256 * 1024  # of a form over plain http: an end with something unread would take the answer with it
QUIET_SECONDS = 0.2  # nothing of what the server said is still here
FORGOTTEN_SECONDS = 60.0  # after a connection's end: a request of it may still be on its way through the server


class Ends(Protocol):
    """Whose connection a request came by."""

    client: str


class Greeter:
    """Listens on the shop's port, for a server that listens on `inner`. `ours` says which Host may be led to."""

    def __init__(self, listening: socket.socket, inner: int, ours: Callable[[str], bool],
                 noted: Callable[[What, str], None] = lambda _what, _address: None) -> None:
        self._listening, self.inner, self._ours, self.note = listening, inner, ours, noted
        self.port: int = listening.getsockname()[1]
        self.ends: dict[int, tuple[str, object]] = {}  # our end's port of a connection to the server, and whose it is
        self.passed_on: set[_Caller] = set()

    def start(self) -> None:
        """From now on, in a thread with a loop of its own, until the process ends."""
        threading.Thread(target=lambda: asyncio.run(self._serve()), daemon=True, name="greeting").start()

    def finish(self, seconds: float = limits.READER_SECONDS) -> None:
        """Wait until what the server said before it ended is with those it was said to, so long at most."""
        began = quiet = time.monotonic()
        while (now := time.monotonic()) < began + seconds and now < quiet + QUIET_SECONDS:
            if any(one.has_more() for one in list(self.passed_on)):
                quiet = now
            time.sleep(0.01)

    def address(self, scope: Ends) -> str:
        """Who asks; empty for a connection that did not come through here."""
        host, _, port = scope.client.rpartition(":")
        found = self.ends.get(int(port)) if host == "127.0.0.1" and port.isdigit() else None
        return found[0] if found else ""

    def leads(self, host: str) -> str:
        """Where this shop is, for who asked under this name; empty for a name that is not ours."""
        name = re.sub(r":\d*$", "", host)
        return f"https://{name.lower()}:{self.port}/" if name and self._ours(name) else ""

    async def _serve(self) -> None:
        loop = asyncio.get_running_loop()
        server = await loop.create_server(lambda: _Caller(self), sock=self._listening)
        async with server:
            await server.serve_forever()


class _End(asyncio.Protocol):
    """One end of a connection that is passed on: what comes here goes there, no faster than it is taken."""

    def __init__(self) -> None:
        self.here: asyncio.Transport | None = None
        self.there: _End | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        if isinstance(transport, asyncio.Transport):
            self.here = transport

    def data_received(self, data: bytes) -> None:
        if self.there and self.there.here:
            self.there.here.write(data)

    def eof_received(self) -> bool:
        """The other side of this connection may still have something to say."""
        if self.there and self.there.here and self.there.here.can_write_eof():
            with contextlib.suppress(OSError, RuntimeError):
                self.there.here.write_eof()
            return True
        return False

    def pause_writing(self) -> None:
        if self.there and self.there.here:
            self.there.here.pause_reading()

    def resume_writing(self) -> None:
        if self.there and self.there.here:
            self.there.here.resume_reading()

    def connection_lost(self, _wrong: Exception | None) -> None:
        if self.there and self.there.here:
            self.there.here.close()


class _Caller(_End):
    """The end that somebody opened: heard for its first words, then passed on or answered."""

    def __init__(self, greeter: Greeter) -> None:
        super().__init__()
        self._greeter, self._loop = greeter, asyncio.get_running_loop()
        self._first, self._answered, self._read_away, self._number = b"", False, 0, 0
        self._clock: asyncio.TimerHandle | None = None
        self._opening: asyncio.Task[None] | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        super().connection_made(transport)
        self._within(limits.HEADER_SECONDS, self._end)

    def data_received(self, data: bytes) -> None:
        if self.there:
            self._within(None)
            super().data_received(data)
        elif self._answered:
            self._read_away += len(data)
            if self._read_away > READ_AWAY:
                self._end()
        elif self._opening:
            self._first += data
        else:
            self._first += data
            self._heard()

    def pause_writing(self) -> None:
        super().pause_writing()
        self._within(limits.READER_SECONDS, self._end)

    def resume_writing(self) -> None:
        self._within(None)
        super().resume_writing()

    def connection_lost(self, wrong: Exception | None) -> None:
        self._within(None)
        super().connection_lost(wrong)
        self._greeter.passed_on.discard(self)
        self._loop.call_later(FORGOTTEN_SECONDS, self._forget)

    def has_more(self) -> bool:
        """Whether something of what the server said still waits for its reader."""
        return bool(self.here and self.here.get_write_buffer_size())

    def _heard(self) -> None:
        """Decide, once enough is here: a whole record of TLS, or a whole head of http."""
        if self._first[0] == HANDSHAKE:
            size = int.from_bytes(self._first[3:5], "big") if len(self._first) >= 5 else 0
            if size > LONGEST_RECORD:
                self._end()
            elif size and len(self._first) >= 5 + size and self.here:
                self.here.pause_reading()
                self._opening = self._loop.create_task(self._pass_on())
        elif re.search(rb"\r?\n\r?\n", self._first):
            self._tell()
        elif len(self._first) > LONGEST_HEAD or not re.match(rb"[A-Z]{1,10}(?: |$)", self._first[:11].rstrip(b"\0")):
            self._end()

    async def _pass_on(self) -> None:
        """To the server, from an end of ours that is remembered before the server can see it."""
        ours = socket.socket()
        ours.setblocking(False)
        try:
            ours.bind(("127.0.0.1", 0))
            self._number = ours.getsockname()[1]
            self._greeter.ends[self._number] = (self._address(), self)
            await self._loop.sock_connect(ours, ("127.0.0.1", self._greeter.inner))
            other = _End()
            await self._loop.create_connection(lambda: other, sock=ours)
        except OSError:
            ours.close()
            self._end()
            return
        if self.here is None or self.here.is_closing():
            ours.close()
            return
        self._greeter.passed_on.add(self)
        self.there, other.there = other, self
        self._within(limits.HEADER_SECONDS, self._end)  # for the other half of the greeting
        super().data_received(self._first)
        self._first = b""
        self.here.resume_reading()

    def _forget(self) -> None:
        if self._greeter.ends.get(self._number, ("", None))[1] is self:
            del self._greeter.ends[self._number]

    def _tell(self) -> None:
        """Words for a person, and no way onwards: what was sent in the clear is neither repeated nor sent again by itself."""
        said = HEAD.match(self._first)
        if said is None or self.here is None:
            self._end()
            return
        self._greeter.note(What.PLAIN_HTTP, self._address())
        host = HOST.search(self._first)
        where = self._greeter.leads(host["host"].decode("latin-1")) if host else ""
        words = (f"This shop speaks https only. Open {where or 'its address with https:// in front'} instead. Nothing was saved. "
                 "Over plain http anybody on the network can read what is sent: if it was a password, change it.\n")
        body = words.encode()
        self.here.write(b"HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain; charset=utf-8\r\nCache-Control: no-store\r\n"
                        b"X-Content-Type-Options: nosniff\r\nConnection: close\r\n"
                        + f"Content-Length: {len(body)}\r\n\r\n".encode() + (b"" if said["method"] == b"HEAD" else body))
        self._answered = True
        if self.here.can_write_eof():
            self.here.write_eof()
        self._within(2.0, self._end)

    def _address(self) -> str:
        peer: Any = self.here.get_extra_info("peername") if self.here else None
        return str(peer[0]).removeprefix("::ffff:") if peer else ""

    def _end(self) -> None:
        self._within(None)
        if self.here:
            self.here.abort()

    def _within(self, seconds: float | None, then: Callable[[], None] | None = None) -> None:
        """Only one clock runs at a time."""
        if self._clock:
            self._clock.cancel()
        self._clock = self._loop.call_later(seconds, then) if seconds is not None and then else None


def listen(host: str, port: int) -> socket.socket:
    """A socket that listens where the shop is to be found; on both families for `::`."""
    family, _, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)[0]
    both = family == socket.AF_INET6 and host == "::" and socket.has_dualstack_ipv6()
    return socket.create_server(address[:2], family=family, backlog=1024, dualstack_ipv6=both)
