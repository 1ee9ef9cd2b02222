"""Inside a process that stays warm (see `app.kernel.warm`): asked on stdin, answering on stdout. Standard library only."""

from __future__ import annotations

import contextlib
import os
import queue
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from typing import BinaryIO, TypeVar

Asked = TypeVar("Asked")


def begin(read: Callable[[BinaryIO], Asked]) -> tuple[BinaryIO, queue.SimpleQueue[Asked]]:
    """The way out for answers, and what `read` finds on stdin, as it comes. When nobody asks any more this process is gone, in the
    middle of its work too.
    """
    to = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever a library prints goes to stderr, and not among the answers
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which may still wait for an answer
    coming: queue.SimpleQueue[Asked] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(read, coming), daemon=True).start()
    return to, coming


def exactly(stream: BinaryIO, size: int) -> bytes:
    """So many bytes. EOFError if there are fewer."""
    found = stream.read(size)
    if len(found) < size:
        raise EOFError
    return found


@contextlib.contextmanager
def ended_after(seconds: float, *, of_processor: bool = False) -> Iterator[None]:
    """End this process if the block takes longer, by the clock or of the processor.

    By the system and not by Python, which a hanging library may have stopped. Windows has no such alarm.
    """
    if not hasattr(signal, "setitimer"):
        yield
        return
    clock, alarm = (signal.ITIMER_PROF, signal.SIGPROF) if of_processor else (signal.ITIMER_REAL, signal.SIGALRM)
    signal.signal(alarm, signal.SIG_DFL)
    signal.setitimer(clock, seconds)
    try:
        yield
    finally:
        signal.setitimer(clock, 0)


def _listen(read: Callable[[BinaryIO], Asked], coming: queue.SimpleQueue[Asked]) -> None:
    try:
        while True:
            coming.put(read(sys.stdin.buffer))
    except EOFError:
        os._exit(0)
