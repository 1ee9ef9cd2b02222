"""A photo as it travels to the process that decodes it, and what comes back. Both sides read it without loading a decoder.

There: seconds of the processor that it may take, sizes, the zone of a camera that tells none, the bytes. Back: one line of JSON
(what is known of the picture, or why it is none) and the bytes of its two copies.
"""

from __future__ import annotations

import json
import struct
from datetime import datetime
from typing import BinaryIO

from app.errors import BadInput
from app.kernel.warm_child import exactly
from app.photos.kinds import Kind
from app.photos.picture import Picture

_ASKED = struct.Struct(">dIQ")
_ANSWERED = struct.Struct(">III")


def ask(to: BinaryIO, data: bytes, zone: str, seconds: float) -> None:
    """Send a photo."""
    name = zone.encode()
    to.write(_ASKED.pack(seconds, len(name), len(data)))
    to.write(name)
    to.write(data)
    to.flush()


def asked(at: BinaryIO) -> tuple[bytes, str, float]:
    """The next photo, its zone and the seconds it may take. EOFError when whoever asks is gone."""
    seconds, named, size = _ASKED.unpack(exactly(at, _ASKED.size))
    zone = exactly(at, named).decode()
    return exactly(at, size), zone, seconds


def answer(to: BinaryIO, found: Picture | BadInput) -> None:
    """Send back a picture, or why there is none."""
    web = thumb = b""
    if isinstance(found, BadInput):
        told: dict[str, object] = {"words": found.words}
    else:
        web, thumb = found.web, found.thumb
        told = {"kind": found.kind.value, "width": found.width, "height": found.height,
                "taken": found.taken.isoformat() if found.taken else None}
    line = json.dumps(told).encode()
    to.write(_ANSWERED.pack(len(line), len(web), len(thumb)))
    to.write(b"".join((line, web, thumb)))
    to.flush()


def answered(at: BinaryIO) -> Picture | BadInput:
    """The picture, or the words of the other side. EOFError when it left without any."""
    sizes = _ANSWERED.unpack(exactly(at, _ANSWERED.size))
    line, web, thumb = (exactly(at, size) for size in sizes)
    told = json.loads(line)
    if "words" in told:
        return BadInput(told["words"])
    taken = datetime.fromisoformat(told["taken"]) if told["taken"] else None
    return Picture(Kind(told["kind"]), told["width"], told["height"], web, thumb, taken)
