"""A photo as it travels to the process that decodes it, and what comes back. Both sides read it without loading a decoder.

There: what to do with it, seconds of the processor that it may take, sizes, the zone of a camera that tells none, the bytes. Back:
one line of JSON (what is known of the picture, or why it is none) and two files: its copies, or the original anew.
"""

from __future__ import annotations

import enum
import json
import struct
from datetime import datetime
from typing import BinaryIO

from app.errors import BadInput
from app.kernel.warm_child import exactly
from app.photos.kinds import Kind
from app.photos.picture import Picture

_ASKED = struct.Struct(">cdIQ")
_ANSWERED = struct.Struct(">III")


class Work(enum.Enum):
    """What is done with a photo."""

    READ = b"r"
    CLEAN = b"c"  # take its location out of the original


def ask(to: BinaryIO, work: Work, data: bytes, zone: str, seconds: float) -> None:
    """Send a photo."""
    name = zone.encode()
    to.write(_ASKED.pack(work.value, seconds, len(name), len(data)))
    to.write(name)
    to.write(data)
    to.flush()


def asked(at: BinaryIO) -> tuple[Work, bytes, str, float]:
    """What to do with the next photo, its zone and the seconds it may take. EOFError when whoever asks is gone."""
    work, seconds, named, size = _ASKED.unpack(exactly(at, _ASKED.size))
    zone = exactly(at, named).decode()
    return Work(work), exactly(at, size), zone, seconds


def answer(to: BinaryIO, found: Picture | bytes | BadInput) -> None:
    """Send back a picture, an original, or why there is none."""
    first = second = b""
    told: dict[str, object] = {}
    if isinstance(found, BadInput):
        told = {"words": found.words}
    elif isinstance(found, bytes):
        first = found
    else:
        first, second = found.web, found.thumb
        told = {"kind": found.kind.value, "width": found.width, "height": found.height,
                "taken": found.taken.isoformat() if found.taken else None, "located": found.located}
    line = json.dumps(told).encode()
    to.write(_ANSWERED.pack(len(line), len(first), len(second)))
    to.write(b"".join((line, first, second)))
    to.flush()


def answered(at: BinaryIO) -> Picture | bytes | BadInput:
    """What was sent back. EOFError when the other side left without a word."""
    sizes = _ANSWERED.unpack(exactly(at, _ANSWERED.size))
    line, first, second = (exactly(at, size) for size in sizes)
    told = json.loads(line)
    if "words" in told:
        return BadInput(told["words"])
    if "kind" not in told:
        return first
    taken = datetime.fromisoformat(told["taken"]) if told["taken"] else None
    return Picture(Kind(told["kind"]), told["width"], told["height"], first, second, taken, told["located"])
