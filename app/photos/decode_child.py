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
from app.photos.apart_job import answer, asked
from app.photos.picture import Picture, read, warm

MOST_MEMORY = 1024**3  # bytes; see tests/photos/test_apart.py for what the heaviest photos that are taken need


def main() -> int:
    """Answer until nobody asks any more."""
    to, photos = begin(asked)
    warm()
    _bound_memory()
    while True:
        data, zone, seconds = photos.get()
        with ended_after(seconds, of_processor=True):
            answer(to, _decoded(data, zone))
        del data


def _decoded(data: bytes, zone: str) -> Picture | BadInput:
    try:
        return read(data, zone=ZoneInfo(zone))
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
