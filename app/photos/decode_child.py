"""The process that decodes photos, one after the other: `python -m app.photos.decode_child`, photos on stdin, pictures on stdout.

A stranger's bytes are read by large libraries: here they meet no request, no database and no file, and only so much memory and
processor time. It ends with whoever asks: when stdin is closed it leaves, in the middle of a photo too. A photo that takes more
of the processor than it may is ended by the system, even where a library hangs.
"""

from __future__ import annotations

import os
import queue
import signal
import sys
import threading
from typing import BinaryIO
from zoneinfo import ZoneInfo

from app.errors import BadInput
from app.photos.apart_job import answer, asked

MOST_MEMORY = 1024**3  # bytes; see tests/photos/test_apart.py for what the heaviest photos that are taken need


def main() -> int:
    """Answer until nobody asks any more."""
    to = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever a library prints goes to stderr, and not among the answers
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which may still wait for a photo
    photos: queue.SimpleQueue[tuple[bytes, str, float]] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(photos,), daemon=True).start()
    from app.photos.picture import warm

    warm()
    _bound_memory()
    while True:
        data, zone, seconds = photos.get()
        _may_take(seconds)
        _decode(to, data, zone)
        _may_take(0)
        del data


def _decode(to: BinaryIO, data: bytes, zone: str) -> None:
    from app.photos.picture import read

    try:
        answer(to, read(data, zone=ZoneInfo(zone)))
    except BadInput as wrong:
        answer(to, wrong)


def _listen(photos: queue.SimpleQueue[tuple[bytes, str, float]]) -> None:
    try:
        while True:
            photos.put(asked(sys.stdin.buffer))
    except EOFError:
        os._exit(0)


def _bound_memory() -> None:
    """No more than so much for data, by the system. Where it has no such limit (Windows) the pixels are the bound."""
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_DATA, (MOST_MEMORY, MOST_MEMORY))


def _may_take(seconds: float) -> None:
    """End this process once it has used so much of the processor from now on; 0 for no such end."""
    if hasattr(signal, "setitimer"):
        signal.signal(signal.SIGPROF, signal.SIG_DFL)
        signal.setitimer(signal.ITIMER_PROF, seconds)


if __name__ == "__main__":
    sys.exit(main())
