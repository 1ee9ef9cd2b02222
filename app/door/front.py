"""Between the web server and the application.

A body is read to its end on the event loop, at a pace, before any thread is taken for it; then one of a few threads answers,
and a long answer takes a thread only for each of its pieces, never for as long as its reader is slow. So nobody who sends or
reads slowly keeps anybody else from a page.
"""

from __future__ import annotations

import asyncio
import contextlib
import io
import itertools
from collections.abc import AsyncIterator, Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import IO, TYPE_CHECKING, Any, Protocol

from app.door import limits
from app.door.body import TooSlow, Torn, take
from app.door.environ import Scope, environ, length, peer
from app.door.proxy import NotOverProxy, Proxies
from app.door.turns import Full, Turns
from app.kernel import sizes
from app.kernel.door_log import What

if TYPE_CHECKING:
    from _typeshed.wsgi import WSGIApplication

Fields = list[tuple[str, str]]
DROPPED = "tagstrip.body_dropped"  # in the environment of a request whose body was too long to be kept
ABSENT = {"HEAD", "GET", "OPTIONS"}  # methods whose body, if one comes, nobody reads


class Transport(Protocol):
    async def send_bytes(self, data: bytes) -> None: ...


class Exchange(Protocol):
    """One request as the server hands it over: its body in pieces, and the ways to answer."""

    def __aiter__(self) -> AsyncIterator[bytes]: ...

    def response_bytes(self, status: int, headers: Fields, body: bytes) -> None: ...

    def response_stream(self, status: int, headers: Fields) -> Transport: ...


@dataclass
class Answer:
    """What the application says: its head once it is known, and the pieces of its body."""

    status: int = 500
    headers: Fields = field(default_factory=list)
    pieces: Iterator[bytes] = field(default_factory=lambda: iter(()))
    close: Callable[[], None] = lambda: None

    def begin(self, status: str, headers: Fields, _wrong: Any = None) -> Callable[[bytes], Any]:
        self.status, self.headers = int(status.split(" ", 1)[0]), headers
        return _no_write

    def piece(self) -> bytes:
        """As much as goes in one piece; less, or nothing, at the end."""
        found, size = [], 0
        for one in self.pieces:
            found.append(one)
            size += len(one)
            if size >= limits.PIECE:
                break
        return b"".join(found)


class Front:
    """The application as the server's interface (RSGI) has it. `knows` says of a Cookie header whether it is of a sign-in here,
    `ends` whose connection a request came by; empty: one that nobody may come by."""

    def __init__(self, app: WSGIApplication, threads: int, knows: Callable[[str], bool], proxies: Proxies | None = None,
                 pace: limits.Pace | None = None, noted: Callable[[What, str], None] = lambda _what, _address: None,
                 ends: Callable[[Scope], str] = peer) -> None:
        self._app, self._knows, self._pace = app, knows, pace or limits.Pace()
        self._proxies, self._note, self._ends = proxies or Proxies(()), noted, ends
        self._threads = ThreadPoolExecutor(threads, thread_name_prefix="page")
        self._bodies = Turns(limits.BODIES_EACH, limits.WAITING_EACH, limits.BODIES_ALL)
        self._answers = Turns(limits.ANSWERS_EACH, limits.WAITING_EACH)

    async def __rsgi__(self, scope: Scope, exchange: Exchange) -> None:
        """One request, from its body to the last piece of its answer."""
        size = length(scope)
        if size is None:
            _say(exchange, 411, "The length of this request is not said.")
            return
        end = self._ends(scope)
        if not end:
            self._note(What.PAST_THE_DOOR, peer(scope))
            _say(exchange, 421, "Open this shop at its own port.")
            return
        try:
            who = self._proxies.told(end, scope.headers.items())
            body, kept = await self._body(scope, exchange, who.address, size)
        except NotOverProxy as wrong:
            self._note(What.NOT_OVER_PROXY, end)
            _say(exchange, 403, wrong.words)
        except TooSlow:
            self._note(What.TOO_SLOW, who.address)
            _say(exchange, 408, "What was sent stopped on its way. Nothing was saved. Go back and send the form again.")
        except Full:
            self._note(What.TOO_MANY, who.address)
            _busy(exchange)
        except Torn:
            _say(exchange, 400, "The connection ended before all was here.")
        else:
            with body:
                told = who.into(environ(scope, body, size))
                if not kept:
                    told[DROPPED] = "1"
                await self._answer(told, exchange, who.address)

    async def _body(self, scope: Scope, exchange: Exchange, address: str, size: int) -> tuple[IO[bytes], bool]:
        """The body, and whether it was kept."""
        if not size or scope.method in ABSENT:
            return io.BytesIO(), True
        async with self._bodies.turn(address, limits.TURN_SECONDS):
            known = size <= sizes.SMALL_BODY or await self._known(scope)
            if size > (limits.DRAINED_BODY if known else limits.DRAINED_UNKNOWN):
                raise Torn  # not even read: the answer may not be seen, but neither does it cost anything
            keep = known and size <= sizes.KEPT_BODY
            return await take(aiter(exchange), size, self._pace, keep=keep), keep

    async def _known(self, scope: Scope) -> bool:
        cookies = "; ".join(value for name, value in scope.headers.items() if name == "cookie")
        return bool(cookies) and await self._in_thread(lambda: self._knows(cookies))

    async def _answer(self, told: dict[str, Any], exchange: Exchange, address: str) -> None:
        answer = Answer()
        try:
            async with self._answers.turn(address):
                first = await self._in_thread(lambda: self._begin(told, answer))
        except Full:
            self._note(What.TOO_MANY, address)
            _busy(exchange)
            return
        headers = _plain(answer.headers)
        try:
            if len(first) < limits.PIECE:
                exchange.response_bytes(answer.status, headers, first)
            else:
                await self._stream(answer, exchange.response_stream(answer.status, headers), first)
        finally:
            await self._in_thread(answer.close)

    async def _stream(self, answer: Answer, to: Transport, piece: bytes) -> None:
        """Piece by piece, as its reader takes them; one who takes none for long loses the rest."""
        with contextlib.suppress(TimeoutError, RuntimeError):  # RuntimeError: the server's word for a reader who left
            while piece:
                await asyncio.wait_for(to.send_bytes(piece), limits.READER_SECONDS)
                piece = await self._in_thread(answer.piece)

    def _begin(self, told: dict[str, Any], answer: Answer) -> bytes:
        body: Iterable[bytes] = self._app(told, answer.begin)
        answer.close = getattr(body, "close", lambda: None)
        answer.pieces = iter(body)
        first = answer.piece()
        if len(first) < limits.PIECE or (then := next(answer.pieces, None)) is None:
            return first
        answer.pieces = itertools.chain((then,), answer.pieces)
        return first

    async def _in_thread(self, work: Callable[[], Any]) -> Any:
        return await asyncio.get_running_loop().run_in_executor(self._threads, work)


def _no_write(_data: bytes) -> None:
    raise RuntimeError("the application answers with its body, not by write()")


def _plain(headers: Fields) -> Fields:
    """Names in small letters, as the server has them; it is not named to whoever asks."""
    return [*((name.lower(), value) for name, value in headers), ("server", "")]


def _say(exchange: Exchange, status: int, words: str, *more: tuple[str, str]) -> None:
    exchange.response_bytes(status, [("content-type", "text/plain; charset=utf-8"), ("cache-control", "no-store"),
                                     ("x-content-type-options", "nosniff"), ("connection", "close"), ("server", ""), *more],
                            f"{words}\n".encode())


def _busy(exchange: Exchange) -> None:
    _say(exchange, 503, "Too much is on its way from this address. Nothing was saved. Wait a moment, then send it again.",
         ("retry-after", "5"))
