"""Where a photo was taken, out of an original: the picture stays bit for bit, what was noted beside it goes.

Of the notes only what the picture needs is kept: which way is up, and when it was taken. JPEG (ITU-T T.81 B.1.1.3, markers), PNG
(chunks), WebP (RFC 9649) are put together anew without the parts that can hold notes; in HEIC and AVIF (ISO/IEC 23008-12) the notes
are overwritten where they lie, since places in the file are counted from its beginning.
"""

from __future__ import annotations

import hashlib
import io
import re
import struct
import zlib
from collections.abc import Callable, Iterator
from functools import partial

from app.errors import BadInput
from app.photos.decoders import learn
from app.photos.kinds import Kind, kind_of

CANNOT = "The location cannot be taken out of this photo. Set the camera to JPEG, or switch its location off."
_ORIENTATION, _EXIF, _GPS, _TAKEN, _OFFSET = 0x0112, 0x8769, 0x8825, 0x9003, 0x9011
_STRIP = 256  # rows
_JPEG_KEPT = frozenset({0xE0, 0xE2, 0xEE})  # JFIF, colour profile, how colours are coded
_PNG_GONE = frozenset({b"eXIf", b"iTXt", b"tEXt", b"zTXt"})
_XMP = re.compile(rb"<\?xpacket begin.*?<\?xpacket end=.[rw].\?>|<x:xmpmeta.*?</x:xmpmeta>", re.S)


def is_located(data: bytes) -> bool:
    """Whether the file says, or may say, where it was taken: a GPS block, or XMP that names one; notes that cannot be read may."""
    from PIL import Image

    kind = kind_of(data)
    if kind is None:
        return False
    learn(kind)
    try:
        with Image.open(io.BytesIO(data), formats=[kind.opener]) as opened:
            if opened.getexif().get_ifd(_GPS):
                return True
    except Exception:  # noqa: BLE001 - a decoder fed with a stranger's bytes may raise anything
        return True
    return b"GPS" in b"".join(_XMP.findall(data))


def without_location(data: bytes) -> bytes:
    """The same picture without its location and all other notes. BadInput in words if that cannot be done for sure."""
    kind = kind_of(data)
    if kind is None:
        raise BadInput(CANNOT)
    try:
        done = _WAYS[kind](data, _notes(data, kind))
        if done is None or is_located(done) or _seen(data, kind) != _seen(done, kind):
            raise BadInput(CANNOT)
    except BadInput:
        raise
    except Exception as wrong:  # a decoder fed with a stranger's bytes may raise anything
        raise BadInput(CANNOT) from wrong
    return done


def _notes(data: bytes, kind: Kind) -> bytes:
    """EXIF with which way is up and when it was taken, nothing else; empty if the original says neither."""
    from PIL import Image

    learn(kind)
    fresh, when = Image.Exif(), {}
    with Image.open(io.BytesIO(data), formats=[kind.opener]) as opened:
        told = opened.getexif()
        if (turned := told.get(_ORIENTATION)) in range(1, 9):
            fresh[_ORIENTATION] = turned
        try:
            when = {tag: str(value) for tag, value in told.get_ifd(_EXIF).items() if tag in (_TAKEN, _OFFSET)}
        except Exception:  # noqa: BLE001 - what cannot be read is not carried over
            when = {}
    if when:
        fresh.get_ifd(_EXIF).update(when)
    return bytes(fresh.tobytes()) if fresh or when else b""


def _seen(data: bytes, kind: Kind) -> tuple[object, ...]:
    """What is seen of a picture: size, which way is up, and a hash of its pixels. Strip by strip, since a second copy of the
    largest would be more memory than one photo may take.
    """
    from PIL import Image

    pixels = hashlib.sha256()
    with Image.open(io.BytesIO(data), formats=[kind.opener]) as opened:
        whole, turned = opened.size, opened.getexif().get(_ORIENTATION, 1)
        if kind is Kind.JPEG:  # every byte is read, and an eighth of the size is kept of it
            opened.draft("RGB", (max(1, opened.width // 8), max(1, opened.height // 8)))
        for top in range(0, opened.height, _STRIP):
            pixels.update(opened.crop((0, top, opened.width, min(top + _STRIP, opened.height))).tobytes())
        return whole, turned, opened.mode, pixels.digest()


def _jpeg(data: bytes, notes: bytes) -> bytes:
    """Segments before the scan anew; what comes after the end of the picture (a second one, a film) goes."""
    parts = [b"\xff\xd8"]
    if notes:
        parts.append(b"\xff\xe1" + struct.pack(">H", len(notes) + 2) + notes)
    at = 2
    while at < len(data):
        if data[at] != 0xFF:
            raise ValueError("no marker where one must be")
        while data[at + 1] == 0xFF:  # any number of fill bytes
            at += 1
        marker = data[at + 1]
        if marker == 0xD9:
            return b"".join([*parts, b"\xff\xd9"])
        end = at + 2 + struct.unpack(">H", data[at + 2:at + 4])[0]
        if end > len(data):
            raise ValueError("a segment goes past the end")
        noted = 0xE0 <= marker <= 0xEF and marker not in _JPEG_KEPT or marker == 0xFE or data[at + 4:at + 8] == b"MPF\0"
        if marker == 0xDA:
            end = _after_scan(data, end)
        if not noted:
            parts.append(data[at:end])
        at = end
    raise ValueError("no end")


def _after_scan(data: bytes, at: int) -> int:
    """Where the next marker stands: in a scan FF is followed by 00, or by a restart marker."""
    while True:
        at = data.index(b"\xff", at)
        if data[at + 1] != 0 and not 0xD0 <= data[at + 1] <= 0xD7 and data[at + 1] != 0xFF:
            return at
        at += 1 if data[at + 1] == 0xFF else 2


def _png(data: bytes, notes: bytes) -> bytes:
    parts, at = [data[:8]], 8
    while at + 12 <= len(data):
        size = struct.unpack(">I", data[at:at + 4])[0]
        name, end = data[at + 4:at + 8], at + 12 + size
        if end > len(data):
            raise ValueError("a chunk goes past the end")
        if name not in _PNG_GONE:
            parts.append(data[at:end])
        if name == b"IHDR" and notes:
            body = b"eXIf" + notes.removeprefix(b"Exif\0\0")
            parts.append(struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body)))
        if name == b"IEND":
            return b"".join(parts)
        at = end
    raise ValueError("no end")


def _webp(data: bytes, notes: bytes) -> bytes:
    chunks = [(name, body) for name, body in _riff(data) if name not in (b"EXIF", b"XMP ")]
    if not any(name == b"VP8X" for name, _ in chunks):
        return _as_riff(chunks)  # a simple file holds no notes
    exif = notes.removeprefix(b"Exif\0\0")
    flags = dict(chunks)[b"VP8X"][0] & ~0x0C | (0x08 if exif else 0)
    chunks = [(name, bytes([flags]) + body[1:] if name == b"VP8X" else body) for name, body in chunks]
    return _as_riff([*chunks, *([(b"EXIF", exif)] if exif else [])])


def _riff(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    at, last = 12, 8 + int(struct.unpack("<I", data[4:8])[0])
    while at + 8 <= last:
        size = struct.unpack("<I", data[at + 4:at + 8])[0]
        if at + 8 + size > len(data):
            raise ValueError("a chunk goes past the end")
        yield data[at:at + 4], data[at + 8:at + 8 + size]
        at += 8 + size + size % 2


def _as_riff(chunks: list[tuple[bytes, bytes]]) -> bytes:
    body = b"".join(name + struct.pack("<I", len(one)) + one + b"\0" * (len(one) % 2) for name, one in chunks)
    return b"RIFF" + struct.pack("<I", len(body) + 4) + b"WEBP" + body


def _boxes(data: bytes, notes: bytes, kind: Kind) -> bytes | None:
    """Overwritten in place: the notes are as long as before, and the rest of their room is empty."""
    from PIL import Image

    with Image.open(io.BytesIO(data), formats=[kind.opener]) as opened:
        exif = bytes(opened.info.get("exif") or b"").removeprefix(b"Exif\0\0")
    done = bytearray(data)
    if exif:
        fresh = notes.removeprefix(b"Exif\0\0") or b"II*\0\x08\0\0\0\0\0\0\0\0\0"  # a directory without entries
        places = list(_places(data, exif))
        if not places or len(fresh) > len(exif):
            return None
        for at in places:
            done[at:at + len(exif)] = fresh.ljust(len(exif), b"\0")
    for found in _XMP.finditer(data):
        done[found.start():found.end()] = b" " * (found.end() - found.start())
    return bytes(done)


def _places(data: bytes, exif: bytes) -> Iterator[int]:
    """Where these notes lie in the file. The decoder that read them says that the picture is upright: that one value may differ."""
    at = data.find(exif[:8])
    while at >= 0:
        there = data[at:at + len(exif)]
        if len(there) == len(exif) and sum(one != other for one, other in zip(there, exif, strict=True)) <= 4:
            yield at
        at = data.find(exif[:8], at + 1)


_WAYS: dict[Kind, Callable[[bytes, bytes], bytes | None]] = {
    Kind.JPEG: _jpeg, Kind.PNG: _png, Kind.WEBP: _webp,
    Kind.HEIC: partial(_boxes, kind=Kind.HEIC), Kind.AVIF: partial(_boxes, kind=Kind.AVIF)}
