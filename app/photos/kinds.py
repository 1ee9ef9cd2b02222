"""Which kinds of picture are taken, told from their first bytes and never from a name. Pure."""

from __future__ import annotations

import re
import struct
from enum import StrEnum


class Kind(StrEnum):
    """The picture files that cameras and phones make. The value is the media type they are served with."""

    JPEG = "image/jpeg"
    PNG = "image/png"
    WEBP = "image/webp"
    HEIC = "image/heic"
    AVIF = "image/avif"

    @property
    def opener(self) -> str:
        """What the decoder calls it."""
        return {"image/jpeg": "JPEG", "image/png": "PNG", "image/webp": "WEBP", "image/heic": "HEIF",
                "image/avif": "AVIF"}[self.value]


# ISO/IEC 23008-12 brands of still pictures coded with HEVC, and the general one that phones put first.
_HEIC_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis"})
_AVIF_BRANDS = frozenset({b"avif", b"avis"})  # AV1 Image File Format 1.1, 6: still pictures, and sequences of them
_STILL_BRAND = b"mif1"  # of either; the compatible brands say which
_OTHER_WORDS = (
    (b"GIF8", "A GIF is not a photo from a camera. Take it as JPEG, PNG, WebP, HEIC or AVIF."),
    (b"%PDF", "That is a PDF, not a photo. Take a photo of the page."),
    (b"II*\x00", "TIFF and raw files are not taken. Set the camera to JPEG."),
    (b"MM\x00*", "TIFF and raw files are not taken. Set the camera to JPEG."),
)
NOT_A_PHOTO = "That is not a photo. JPEG, PNG, WebP, HEIC and AVIF are taken."
# A marker that is neither stuffing, nor a restart, nor filling (ITU-T T.81, B.1.1.2).
_MARKER = re.compile(rb"\xff+[^\x00\xd0-\xd7\xff]")
_SOS, _EOI, _WITHOUT_LENGTH = 0xDA, 0xD9, frozenset({0x01, 0xD8})


def kind_of(data: bytes) -> Kind | None:
    """The kind these bytes begin as; None if it is none of ours."""
    if data.startswith(b"\xff\xd8\xff"):
        return Kind.JPEG
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return Kind.PNG
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return Kind.WEBP
    return _coded_with(data) if data[4:8] == b"ftyp" else None


def _coded_with(data: bytes) -> Kind | None:
    """By the brands of the first box, ISO/IEC 14496-12, 4.3: the major one, its version, then the compatible ones."""
    end = min(int.from_bytes(data[:4], "big"), 256)
    major, others = data[8:12], {data[at:at + 4] for at in range(16, end, 4)}
    if major in _AVIF_BRANDS or (major == _STILL_BRAND and others & _AVIF_BRANDS and not others & _HEIC_BRANDS):
        return Kind.AVIF
    return Kind.HEIC if major in _HEIC_BRANDS or major == _STILL_BRAND else None


def why_not(data: bytes) -> str:
    """Why bytes of no kind of ours are not taken, in words."""
    if data[4:8] == b"ftyp":
        return "That is a film, not a photo. Take a photo."
    return next((words for start, words in _OTHER_WORDS if data.startswith(start)), NOT_A_PHOTO)


def is_whole(data: bytes, kind: Kind) -> bool:
    """Whether the file goes as far as its own structure says. What lies between is for the decoder to judge."""
    if kind is Kind.JPEG:
        return b"\xff\xd9" in data[-65536:] or data.rfind(b"\xff\xd9") > data.rfind(b"\xff\xda")
    if kind is Kind.PNG:
        return b"IEND\xaeB`\x82" in data
    if kind is Kind.WEBP:
        told = int(struct.unpack("<I", data[4:8])[0]) if len(data) >= 12 else 0
        return 12 <= told + 8 <= len(data)
    return _boxes_fit(data)


def _boxes_fit(data: bytes) -> bool:
    """ISO/IEC 14496-12: a file is a row of boxes, each with its size; 0 means to the end, 1 a size of 64 bits."""
    place, found = 0, set()
    while place + 8 <= len(data):
        size, name = struct.unpack(">I4s", data[place:place + 8])
        if size == 1 and place + 16 <= len(data):
            size = struct.unpack(">Q", data[place + 8:place + 16])[0]
        found.add(name)
        if size == 0:
            place = len(data)
            break
        if size < 8 or place + size > len(data):
            return False
        place += size
    return place == len(data) and {b"ftyp", b"meta"} <= found


def scans_of(data: bytes, most: int) -> int:
    """How many scans the first picture of a JPEG has, read from its markers; counting ends past `most`.

    A scan costs the decoder the whole picture once more and the file a few bytes, so they are counted before it begins.
    """
    place, found = 2, 0
    while found <= most and (marker := _MARKER.search(data, place)) is not None:
        code, place = marker.group()[-1], marker.end()
        if code == _EOI:
            break
        found += code == _SOS
        if code not in _WITHOUT_LENGTH:
            place += int.from_bytes(data[place:place + 2], "big")
    return found


def webp_canvas(data: bytes) -> tuple[int, int] | None:
    """Width and height from the header of a WebP (RFC 9649), read before a decoder makes room for them."""
    if len(data) < 30:
        return None
    chunk = data[12:16]
    if chunk == b"VP8X":
        return 1 + int.from_bytes(data[24:27], "little"), 1 + int.from_bytes(data[27:30], "little")
    if chunk == b"VP8 ":
        wide, high = struct.unpack("<HH", data[26:30])
        return wide & 0x3FFF, high & 0x3FFF
    if chunk == b"VP8L":
        bits = int.from_bytes(data[21:25], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    return None
