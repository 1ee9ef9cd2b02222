"""A body, read whole before any thread is taken for it, and never slower than it may come."""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import AsyncIterator
from typing import IO

from app.door.limits import IN_MEMORY, Pace


class TooSlow(Exception):
    """The sender stopped, or sends less than it must."""


class Torn(Exception):
    """The connection ended before the body did."""


async def take(pieces: AsyncIterator[bytes], size: int, pace: Pace, *, keep: bool) -> IO[bytes]:
    """All `size` bytes, in memory or a file without a name; none of them unless `keep`. TooSlow, Torn."""
    body: IO[bytes] = tempfile.SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115 - whoever asked closes it
    try:
        await _read(pieces, size, pace, body if keep else None)
    except BaseException:
        body.close()
        raise
    body.seek(0)
    return body


async def _read(pieces: AsyncIterator[bytes], size: int, pace: Pace, to: IO[bytes] | None) -> None:
    loop, here = asyncio.get_running_loop(), 0
    begun = loop.time()
    while here < size:
        try:
            piece = await asyncio.wait_for(anext(pieces), max(0.0, begun + pace.until(here) - loop.time()))
        except TimeoutError as wrong:
            raise TooSlow from wrong
        except StopAsyncIteration as wrong:
            raise Torn from wrong
        if not piece:
            raise Torn
        here += len(piece)
        if to is not None:
            to.write(piece)
