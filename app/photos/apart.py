"""Having a photo decoded in a process of its own that stays warm: what takes too long or too much is ended, and said in words.

Two at most work at once, each on one photo; the others wait for their turn.
"""

from __future__ import annotations

import signal
import sys
from collections.abc import Sequence
from datetime import tzinfo
from typing import BinaryIO, cast

from app.errors import BadInput, Unavailable
from app.kernel.warm import Broke, NotStarted, NoTurn, Warm, from_text
from app.photos.apart_job import Work, answered, ask
from app.photos.picture import Picture

AT_ONCE = 2  # more would cost memory, not save time
PROCESSOR_SECONDS = 20.0  # the heaviest that are taken need about 1.5 on a small machine
LONGEST_SECONDS = 90.0  # by the clock, on a machine that is busy with other things
QUEUE_SECONDS = 120.0
PHOTOS_EACH = 200
MAIN = "app.photos.decode_child"
# All of ours that it imports.
PROGRAM = ("app.errors", "app.kernel.warm_child", "app.photos.apart_job", "app.photos.decoders", "app.photos.kinds",
           "app.photos.location", "app.photos.picture")
TOO_LONG = "The photo takes too long to read. Save it again as a plain JPEG, or take it again."
_SIGPROF = getattr(signal, "SIGPROF", 0)
BROKE = "The photo cannot be read: what reads photos broke on it. Save it again as a plain JPEG, or take it again."


class Decoder:
    """The place where photos wait for one of the processes."""

    def __init__(self, command: Sequence[str] = (sys.executable, "-m", MAIN), *, processor: float = PROCESSOR_SECONDS,
                 longest: float = LONGEST_SECONDS, queue_seconds: float = QUEUE_SECONDS, photos: int = PHOTOS_EACH,
                 at_once: int = AT_ONCE) -> None:
        self._processor, self._longest = processor, longest
        # Each thread of a decoder would else keep room of its own, far more than it uses.
        self.warm = Warm(command, each=photos, queue_seconds=queue_seconds, at_once=at_once, settings={"MALLOC_ARENA_MAX": "2"})

    def read(self, data: bytes, *, zone: tzinfo) -> Picture:
        """As app.photos.picture.read. BadInput also if it overruns or breaks, Unavailable if its turn does not come."""
        return cast(Picture, self._done(Work.READ, data, getattr(zone, "key", "UTC")))

    def clean(self, data: bytes) -> bytes:
        """As app.photos.location.without_location; else as `read`."""
        return cast(bytes, self._done(Work.CLEAN, data))

    def _done(self, work: Work, data: bytes, zone: str = "UTC") -> Picture | bytes:
        def talk(to: BinaryIO, at: BinaryIO) -> Picture | bytes | BadInput:
            ask(to, work, data, zone, self._processor)
            return answered(at)

        try:
            found = self.warm.ask(talk, self._longest)
        except NoTurn:
            raise Unavailable("Other photos are being read and this one's turn did not come. Nothing is lost: try again in a "
                              "moment.") from None
        except NotStarted as wrong:
            raise Unavailable(f"Photos cannot be read at the moment (the process that reads them cannot be started: {wrong}). "
                              "Nothing is lost: try again.") from wrong
        except Broke as wrong:  # by the system's own signal where it took too much of the processor
            raise BadInput(TOO_LONG if wrong.late or wrong.code == -_SIGPROF else BROKE) from wrong
        if isinstance(found, BadInput):
            raise found
        return found

    def close(self) -> None:
        """End every process. The next photo starts another."""
        self.warm.close()


shared = Decoder()  # this process's one; when this process is gone, so are those that it started


def read(data: bytes, *, zone: tzinfo) -> Picture:
    """One photo by this process's one decoder. Errors as Decoder.read."""
    return shared.read(data, zone=zone)


def clean(data: bytes) -> bytes:
    """An original without its location by this process's one decoder. Errors as Decoder.clean."""
    return shared.clean(data)


def keep_program() -> None:
    """Read the child's program now, and start every later child from that."""
    shared.warm.start_from(from_text(MAIN, *PROGRAM))
