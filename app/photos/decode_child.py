"""The process that decodes photos, one after the other: `python -m app.photos.decode_child`, photos on stdin, pictures on stdout.

A stranger's bytes are read by large libraries: here they meet no request, no database and no file, and only so much memory and
processor time. It ends with whoever asks. A photo that takes more of the processor than it may is ended by the system, even where
a library hangs.
"""

from __future__ import annotations

import sys
from zoneinfo import ZoneInfo

from app.errors import BadInput
from app.kernel.warm_child import begin, ended_after
from app.photos.apart_job import Work, answer, asked
from app.photos.decoders import learn
from app.photos.kinds import Kind
from app.photos.location import without_location
from app.photos.picture import Picture, read

MOST_MEMORY = 1024**3  # bytes; see tests/photos/test_apart.py for what the heaviest photos that are taken need


def main() -> int:
    """Answer until nobody asks any more."""
    to, photos = begin(asked)
    learn(Kind.HEIC)  # before the first photo comes
    _bound_memory()
    while True:
        work, data, zone, seconds = photos.get()
        with ended_after(seconds, of_processor=True):
            answer(to, _done(work, data, zone))
        del data


def _done(work: Work, data: bytes, zone: str) -> Picture | bytes | BadInput:
    try:
        return without_location(data) if work is Work.CLEAN else read(data, zone=ZoneInfo(zone))
    except BadInput as wrong:
        return wrong


def _bound_memory() -> None:
    """No more than so much for data, by the system. Where it has no such limit (Windows) the pixels are the bound."""
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_DATA, (MOST_MEMORY, MOST_MEMORY))


if __name__ == "__main__":
    sys.exit(main())
