"""Taking turns by address, on the event loop: so many at once for each, the others wait in the order they came."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field


class Full(Exception):
    """Too many wait already, or the turn did not come in time."""


@dataclass
class _Place:
    inside: int = 0
    waiting: deque[asyncio.Future[None]] = field(default_factory=deque)


class Turns:
    """At most `each` at once for one address and `all` together, and `waiting` more of an address that wait."""

    def __init__(self, each: int, waiting: int, together: int | None = None) -> None:
        self._each, self._waiting, self._together = each, waiting, together
        self._places: dict[str, _Place] = {}
        self._inside = 0

    @asynccontextmanager
    async def turn(self, address: str, seconds: float | None = None) -> AsyncIterator[None]:
        """Inside once it is this one's turn. Full if it does not come within `seconds`, or too many wait."""
        await self._enter(address, seconds)
        try:
            yield
        finally:
            self._leave(address)

    async def _enter(self, address: str, seconds: float | None) -> None:
        if self._together is not None and self._inside >= self._together:
            raise Full
        place = self._places.setdefault(address, _Place())
        if place.inside >= self._each:
            if len(place.waiting) >= self._waiting:
                raise Full
            turn: asyncio.Future[None] = asyncio.get_running_loop().create_future()
            place.waiting.append(turn)
            try:
                await asyncio.wait_for(asyncio.shield(turn), seconds)
            except BaseException as wrong:
                if turn.done():  # handed over in the same moment: to the next
                    self._leave(address)
                else:
                    place.waiting.remove(turn)
                    turn.cancel()
                raise Full from wrong if isinstance(wrong, TimeoutError) else wrong
            return
        place.inside += 1
        self._inside += 1

    def _leave(self, address: str) -> None:
        """Hand the place to who waits longest; it stays counted then."""
        place = self._places[address]
        if place.waiting:
            place.waiting.popleft().set_result(None)
            return
        place.inside -= 1
        self._inside -= 1
        if not place.inside:
            del self._places[address]
