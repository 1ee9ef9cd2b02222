"""From the bytes of a photo to its upright copies. The whole picture is decoded; a bad file is refused in words."""

from __future__ import annotations

import io
import struct
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from typing import TYPE_CHECKING

from app.errors import BadInput
from app.photos.decoders import MOST_PIXELS, learn
from app.photos.kinds import Kind, is_whole, kind_of, scans_of, webp_canvas, why_not
from app.photos.location import is_located

if TYPE_CHECKING:
    from PIL import Image

MOST_BYTES = 25 * 1024 * 1024
MOST_SCANS = 50  # cameras write 1, progressive files about 10, the most thorough optimisers some more: common practice, no source
WEB_PX, THUMB_PX = 1600, 320
WEB_QUALITY, THUMB_QUALITY = 84, 78
_EXIF_IFD, _TAKEN, _OFFSET, _ORIENTATION = 0x8769, 0x9003, 0x9011, 0x0112

INCOMPLETE = "The photo is incomplete. Take or send it again."
TOO_MANY_PIXELS = "The photo has more than 64 million pixels. Set the camera to a smaller size."
TOO_MANY_SCANS = ("The photo is put together in a way that no camera uses, and would take too long to read. "
                  "Save it again as a plain JPEG.")
TOO_MUCH_MEMORY = "The photo needs more memory to read than is allowed. Set the camera to a smaller size, or to JPEG."
SEVERAL = "The file holds several pictures or moves. Send one still photo."


@dataclass(frozen=True)
class Picture:
    """One photo, decoded: kind, upright size in pixels, copies as JPEG without metadata, when it was taken, and whether the
    original says, or may say, where.
    """

    kind: Kind
    width: int
    height: int
    web: bytes
    thumb: bytes
    taken: datetime | None
    located: bool


def read(data: bytes, *, zone: tzinfo = UTC) -> Picture:
    """Decode a photo fully and make its copies. BadInput says in words why it cannot be used.

    `zone` is the zone of a camera that tells no zone of its own.
    """
    kind = _kind(data)
    learn(kind)
    from PIL import Image

    try:
        with Image.open(io.BytesIO(data), formats=[kind.opener]) as opened:
            _refuse_by_header(opened)
            taken = _taken(opened, zone)
            turned = 1 if kind is Kind.HEIC else _orientation(opened)
            upright_size = opened.size if turned < 5 else opened.size[::-1]
            if kind is Kind.JPEG:
                _draft(opened)
            opened.load()
            web = _upright(opened, turned)
            thumb = _shrunk(web, THUMB_PX, Image.Resampling.LANCZOS)
            copies = _jpeg(web, WEB_QUALITY), _jpeg(thumb, THUMB_QUALITY)
    except BadInput:
        raise
    except MemoryError:
        raise BadInput(TOO_MUCH_MEMORY) from None
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise BadInput(TOO_MANY_PIXELS) from None
    except Exception as wrong:  # a decoder fed with a stranger's bytes may raise anything
        raise BadInput(INCOMPLETE) from wrong
    return Picture(kind, *upright_size, *copies, taken, is_located(data))


def _kind(data: bytes) -> Kind:
    if not data:
        raise BadInput("The file is empty. Take or send it again.")
    if len(data) > MOST_BYTES:
        raise BadInput("The photo is larger than 25 MB. Set the camera to a smaller size.")
    kind = kind_of(data)
    if kind is None:
        raise BadInput(why_not(data))
    if not is_whole(data, kind):
        raise BadInput(INCOMPLETE)
    if kind is Kind.JPEG and scans_of(data, MOST_SCANS) > MOST_SCANS:
        raise BadInput(TOO_MANY_SCANS)
    canvas = webp_canvas(data) if kind is Kind.WEBP else None
    if canvas and canvas[0] * canvas[1] > MOST_PIXELS:
        raise BadInput(TOO_MANY_PIXELS)
    return kind


def _refuse_by_header(opened: Image.Image) -> None:
    """Before anything is decoded. A JPEG with a second picture behind it (MPO: depth, gain map) is one photo still, and a HEIC
    may hold several: the decoder has opened its main one.
    """
    if opened.width * opened.height > MOST_PIXELS:
        raise BadInput(TOO_MANY_PIXELS)
    if opened.format not in ("MPO", "HEIF") and getattr(opened, "n_frames", 1) > 1:
        raise BadInput(SEVERAL)


def _orientation(opened: Image.Image) -> int:
    """EXIF orientation 1 to 8. Not asked of a HEIC: its decoder has turned it already, and twice would be wrong."""
    told = opened.getexif().get(_ORIENTATION, 1)
    return told if told in range(1, 9) else 1


_TURNS = {2: "FLIP_LEFT_RIGHT", 3: "ROTATE_180", 4: "FLIP_TOP_BOTTOM", 5: "TRANSPOSE", 6: "ROTATE_270", 7: "TRANSVERSE",
          8: "ROTATE_90"}


def _draft(opened: Image.Image) -> None:
    """Let the JPEG decoder halve as it goes, above the web copy's size; it still reads every byte."""
    scale = WEB_PX / max(opened.size)
    if scale < 1:
        opened.draft("RGB", (int(opened.width * scale) + 1, int(opened.height * scale) + 1))


def _upright(opened: Image.Image, turned: int) -> Image.Image:
    """Shrunk, in sRGB, on white, turned once. Shrinking comes first: turning a small picture is cheap."""
    from PIL import Image

    small: Image.Image = opened
    if max(small.size) > WEB_PX:
        small = _shrunk(_plain(small), WEB_PX, Image.Resampling.BICUBIC)
    small = _srgb(_plain(small), opened.info.get("icc_profile"))
    return small.transpose(Image.Transpose[_TURNS[turned]]) if turned in _TURNS else small


def _shrunk(image: Image.Image, most: int, how: Image.Resampling) -> Image.Image:
    """At most this many pixels on its longer side, never less than one on the other."""
    scale = most / max(image.size)
    if scale >= 1:
        return image
    return image.resize((max(1, round(image.width * scale)), max(1, round(image.height * scale))), how, reducing_gap=2.0)


def _plain(image: Image.Image) -> Image.Image:
    """RGB, whatever it was: palettes resolved, see-through parts on white, 16 bits brought down to 8."""
    from PIL import Image

    if image.mode == "RGB":
        return image
    if image.mode.startswith("I"):
        return image.convert("I").point(lambda level: level * (1 / 256)).convert("L").convert("RGB")
    if image.mode in ("RGBA", "LA", "PA", "La", "RGBa") or "transparency" in image.info:
        seen = image.convert("RGBA")
        white = Image.new("RGB", image.size, "white")
        white.paste(seen, mask=seen.getchannel("A"))
        return white
    return image.convert("RGB")


def _srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Colours as every screen shows them. A profile that cannot be read is left out: the picture stays as it is."""
    if not profile:
        return image
    from PIL import ImageCms

    try:
        there = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        turned = ImageCms.profileToProfile(image, there, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return image
    return turned or image


def _jpeg(image: Image.Image, quality: int) -> bytes:
    """A fresh picture of the pixels alone, so that nothing of the original's metadata can come along."""
    from PIL import Image

    fresh = Image.new("RGB", image.size)
    fresh.paste(image)
    out = io.BytesIO()
    fresh.save(out, "JPEG", quality=quality, subsampling="4:2:0")
    return out.getvalue()


def _taken(opened: Image.Image, zone: tzinfo) -> datetime | None:
    """When the camera says it was taken, or None. Only a plausible moment counts."""
    try:
        facts = opened.getexif().get_ifd(_EXIF_IFD)
        wall = datetime.strptime(str(facts.get(_TAKEN, "")).strip("\0 "), "%Y:%m:%d %H:%M:%S")
        told = _offset(str(facts.get(_OFFSET, ""))) or zone
        moment = wall.replace(tzinfo=told).astimezone(UTC)
    except (ValueError, TypeError, KeyError, OSError, SyntaxError, OverflowError, struct.error):
        return None
    return moment if moment.year >= 1995 else None


def _offset(text: str) -> tzinfo | None:
    """'+10:00' as a zone."""
    plain = text.strip("\0 ")
    if len(plain) != 6 or plain[0] not in "+-":
        return None
    ahead = timedelta(hours=int(plain[1:3]), minutes=int(plain[4:6]))
    return timezone(ahead if plain[0] == "+" else -ahead)
