"""Tiny photos, drawn here: a picture whose four corners differ, so that any wrong turn shows."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any

import pillow_heif
from PIL import Image
from werkzeug.datastructures import FileStorage

from app.orders.models import RepairOrder
from app.orders.queries import find
from app.photos import service
from app.photos.models import Phase, Photo
from app.photos.prepare import prepare
from tests.factories import NOW
from tests.people import BY

pillow_heif.register_heif_opener(thumbnails=False)
CORNERS = {"top left": (220, 30, 30), "top right": (30, 190, 30), "bottom left": (30, 30, 220),
           "bottom right": (230, 210, 30)}
# What must be done to the upright picture so that EXIF 2.32 orientation n, table 6 (CIPA DC-008), turns it back.
UNDO = {1: None, 2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE, 6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270}


def upright(width: int = 64, height: int = 48) -> Image.Image:
    """Four blocks of colour: red, green above blue, yellow."""
    image = Image.new("RGB", (width, height))
    for (words, colour) in CORNERS.items():
        x = 0 if "left" in words else width // 2
        y = 0 if "top" in words else height // 2
        image.paste(colour, (x, y, x + width // 2, y + height // 2))
    return image


def photo_bytes(kind: str = "JPEG", *, orientation: int = 1, gps: bool = False, image: Image.Image | None = None,
                taken: str | None = None) -> bytes:
    """A photo as a camera would write it: stored turned, with the orientation that turns it back."""
    image = image or upright()
    turn = UNDO[orientation]
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = "Kestermark"
    if gps:
        exif.get_ifd(0x8825).update({1: "S", 2: (33.0, 52.0, 10.0), 3: "E", 4: (151.0, 12.0, 30.0)})
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    out = io.BytesIO()
    stored = image.transpose(turn) if turn is not None else image
    quality: dict[str, dict[str, Any]] = {"PNG": {}, "HEIF": {"quality": -1}, "WEBP": {"lossless": True},
                                         "AVIF": {"quality": 100, "subsampling": "4:4:4"},
                                         "JPEG": {"quality": 95, "subsampling": 0}}
    stored.save(out, kind, exif=exif.tobytes(), **quality[kind])
    return out.getvalue()


def bare_png(width: int, height: int) -> bytes:
    """A PNG that claims this size with next to nothing in it: a bomb if it were decoded."""
    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    row = zlib.compress(b"\0" * 1024)
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
            + chunk(b"IDAT", row) + chunk(b"IEND", b""))


def upload(data: bytes, name: str = "IMG_0001.JPG") -> FileStorage:
    return FileStorage(io.BytesIO(data), name, "photos", "image/jpeg")


def corner_of(image: Image.Image, words: str) -> str:
    """Which of the four colours stands in this corner."""
    x = image.width // 4 if "left" in words else image.width * 3 // 4
    y = image.height // 4 if "top" in words else image.height * 3 // 4
    seen = image.convert("RGB").getpixel((x, y))
    assert isinstance(seen, tuple)
    return min(CORNERS, key=lambda one: sum((a - b) ** 2 for a, b in zip(CORNERS[one], seen, strict=True)))


def photo(order: RepairOrder, *, place: str = "board 1", caption: str = "", phase: Phase = Phase.AS_FOUND,
          data: bytes | None = None) -> Photo:
    """A photo of this order; call inside a transaction."""
    return service.add(order, prepare(upload(data or photo_bytes())), place=place, caption=caption, phase=phase, by=BY,
                       now=NOW)


def the_order(order_id: int) -> RepairOrder:
    """The order with this id, inside a transaction."""
    found = find(order_id)
    assert found is not None
    return found
