"""The demo shop's mark at the head of its papers: a ferry's hull over two waves, drawn here."""

from __future__ import annotations

import io
import math
from datetime import datetime

from PIL import Image, ImageDraw
from werkzeug.datastructures import FileStorage

from app.documents import service
from app.journal.service import Actor
from app.photos.prepare import prepare

WIDE, HIGH = 900, 420
COPPER = (148, 69, 19, 255)


def hang_up(by: Actor, now: datetime) -> None:
    """Make it the shop's logo. Call inside a transaction."""
    service.set_logo(prepare(FileStorage(io.BytesIO(picture()), "mark.png")), by=by, now=now)


def picture() -> bytes:
    """The mark as a PNG on nothing."""
    image = Image.new("RGBA", (WIDE, HIGH), (255, 255, 255, 0))
    pen = ImageDraw.Draw(image)
    pen.polygon([(90, 130), (810, 130), (700, 260), (200, 260)], fill=COPPER)
    pen.rectangle((360, 40, 540, 130), outline=COPPER, width=18)
    for middle in (320, 380):
        wave = [(x, middle + 18 * math.sin(x / 45)) for x in range(40, WIDE - 40, 3)]
        pen.line(wave, fill=COPPER, width=16, joint="curve")
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()
