"""Having a photo decoded in a process of its own that stays warm: what takes too long or too much is ended, and said in words.

Two at most work at once, each on one photo; the others wait for their turn. A process is started with the first photo, replaced
after it broke or overran, and renewed after some photos, so that what a library may leak stays bounded.
"""

from __future__ import annotations

import contextlib
import os
import queue
import signal
import subprocess
import sys
import threading
from collections.abc import Sequence
from datetime import tzinfo
from pathlib import Path
from typing import BinaryIO, cast

from app.errors import BadInput, Unavailable
from app.photos.apart_job import answered, ask
from app.photos.picture import Picture

AT_ONCE = 2  # more would cost memory, not save time
PROCESSOR_SECONDS = 20.0  # the heaviest that are taken need about 1.5 on a small machine
LONGEST_SECONDS = 90.0  # by the clock, on a machine that is busy with other things
QUEUE_SECONDS = 120.0
PHOTOS_EACH = 200
LEAVING_SECONDS = 5.0
REPOSITORY = Path(__file__).resolve().parent.parent.parent
CHILD: tuple[str, ...] = (sys.executable, "-m", "app.photos.decode_child")
TOO_LONG = "The photo takes too long to read. Save it again as a plain JPEG, or take it again."
_SIGPROF = getattr(signal, "SIGPROF", 0)
BROKE = "The photo cannot be read: what reads photos broke on it. Save it again as a plain JPEG, or take it again."


class Child:
    """One process that decodes photos until it is ended, or until it breaks."""

    def __init__(self, command: Sequence[str]) -> None:
        self.read_so_far = 0
        self.overran = threading.Event()
        # Each thread of a decoder would else keep room of its own, far more than it uses.
        quiet = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "MALLOC_ARENA_MAX": "2"}
        self.process = subprocess.Popen(list(command), stdin=subprocess.PIPE, stdout=subprocess.PIPE,  # noqa: S603
                                        stderr=subprocess.DEVNULL, cwd=REPOSITORY, env=quiet)

    def read(self, data: bytes, zone: str, processor: float, longest: float) -> Picture:
        """What it answers. BadInput in its words; EOFError or OSError when it does not answer: it has to be ended then."""
        timer = threading.Timer(longest, self._end_late)
        timer.start()
        try:
            ask(cast(BinaryIO, self.process.stdin), data, zone, processor)
            return answered(cast(BinaryIO, self.process.stdout))
        finally:
            timer.cancel()
            self.read_so_far += 1

    def _end_late(self) -> None:
        self.overran.set()
        self.process.kill()

    @property
    def works(self) -> bool:
        return self.process.poll() is None and not self.overran.is_set()

    def end(self) -> int:
        """See that it is gone; what it left with."""
        for pipe in (self.process.stdin, self.process.stdout):
            with contextlib.suppress(OSError):  # what was still to be written is of no use to anybody
                cast(BinaryIO, pipe).close()
        try:
            self.process.wait(LEAVING_SECONDS)  # a closed stdin tells it to leave
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        return self.process.returncode


class Decoder:
    """The place where photos wait for one of the processes."""

    def __init__(self, command: Sequence[str] = CHILD, *, processor: float = PROCESSOR_SECONDS, longest: float = LONGEST_SECONDS,
                 queue_seconds: float = QUEUE_SECONDS, photos: int = PHOTOS_EACH, at_once: int = AT_ONCE) -> None:
        self._command, self._processor, self._longest = command, processor, longest
        self._queue_seconds, self._photos, self._at_once = queue_seconds, photos, at_once
        # The one that worked last is taken first: while photos come one by one, one process is enough.
        self._places: queue.LifoQueue[Child | None] = queue.LifoQueue()
        for _ in range(at_once):
            self._places.put(None)

    def read(self, data: bytes, *, zone: tzinfo) -> Picture:
        """As app.photos.picture.read. BadInput also if it overruns or breaks, Unavailable if its turn does not come."""
        try:
            child = self._places.get(timeout=self._queue_seconds)
        except queue.Empty:
            raise Unavailable("Other photos are being read and this one's turn did not come. Nothing is lost: try again in a "
                              "moment.") from None
        try:
            if child is None or not child.works:
                if child is not None:
                    child.end()
                child = None
                child = self._started()
            found = self._read(child, data, getattr(zone, "key", "UTC"))
            if child.read_so_far >= self._photos:
                child.end()
                child = None
            return found
        except BadInput:
            raise
        except BaseException:
            if child is not None:
                child.process.kill()
                child.end()
            child = None
            raise
        finally:
            self._places.put(child)

    def _started(self) -> Child:
        try:
            return Child(self._command)
        except OSError as wrong:
            raise Unavailable(f"Photos cannot be read at the moment (the process that reads them cannot be started: "
                              f"{wrong.strerror or wrong}). Nothing is lost: try again.") from wrong

    def _read(self, child: Child, data: bytes, zone: str) -> Picture:
        try:
            return child.read(data, zone, self._processor, self._longest)
        except (EOFError, OSError, ValueError) as wrong:
            code = child.end()  # negative: the signal that ended it, the system's own for too much of the processor
            late = child.overran.is_set() or code == -_SIGPROF
            raise BadInput(TOO_LONG if late else BROKE) from wrong

    def close(self) -> None:
        """End every process. The next photo starts another."""
        for child in [self._places.get() for _ in range(self._at_once)]:
            if child is not None:
                child.end()
            self._places.put(None)


shared = Decoder()  # this process's one; when this process is gone, so are those that it started


def read(data: bytes, *, zone: tzinfo) -> Picture:
    """One photo by this process's one decoder. Errors as Decoder.read."""
    return shared.read(data, zone=zone)
