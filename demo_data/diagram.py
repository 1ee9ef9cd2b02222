"""One schematic in the demo: a gain stage of an amp that was never made, drawn here, with two pins."""

from __future__ import annotations

import io
from datetime import datetime, timedelta

from PIL import Image, ImageDraw, ImageFont
from werkzeug.datastructures import FileStorage

from app.db import session
from app.drawings import service
from app.drawings.prepare import take
from app.drawings.rules import DrawingKind
from app.drawings.spec import DrawingFacts
from app.journal.service import Actor
from app.records.models import Amp

WIDE, HIGH = 2400, 1500
THIN, THICK = 5, 9
# What the pins say, and where: the grid's stopper, and the cathode resistor.
NOTES = (("Reads 71k here, within its 10 %: left in", 0.25, 0.487), ("As left: 1.46 V across it, on 242 V mains", 0.456, 0.7))


def keep(amp: Amp, by: Actor, now: datetime) -> None:
    """Add it to the amp's model, drawn by the bench from the amp itself."""
    facts = DrawingFacts(amp.maker, amp.model, "First gain stage", DrawingKind.SCHEMATIC, "Traced here from the amp on the bench.")
    made = service.add_drawing(facts, take(FileStorage(io.BytesIO(picture()), "gain-stage.png")), by=by, now=now)
    session().flush()
    for minutes, (note, x, y) in enumerate(NOTES, 5):
        service.add_pin(made, note, x, y, by=by, now=now + timedelta(minutes=minutes))


def picture() -> bytes:
    """The sheet as a PNG of two tones."""
    image = Image.new("L", (WIDE, HIGH), 255)
    pen = ImageDraw.Draw(image)
    _stage(pen)
    out = io.BytesIO()
    image.convert("1", dither=Image.Dither.NONE).save(out, "PNG")
    return out.getvalue()


def _stage(pen: ImageDraw.ImageDraw) -> None:
    """Input, grid leak, stopper, triode, plate load, cathode resistor with bypass, coupling capacitor: top HT, bottom chassis."""
    grid, plate, cathode = 730, 520, 950
    _line(pen, (160, grid), (500, grid))
    _line(pen, (700, grid), (1020, grid))
    _resistor(pen, (500, grid), (700, grid), "R2 68k", (520, grid - 120))
    _line(pen, (380, grid), (380, 860))
    _resistor(pen, (380, 860), (380, 1060), "R1 1M", (430, 930))
    _chassis(pen, 380, 1060)
    pen.ellipse((1000, 560, 1340, 900), outline=0, width=THICK)
    pen.line((1080, 640, 1260, 640), fill=0, width=THICK)
    for x in range(1040, 1300, 60):
        pen.line((x, grid, x + 32, grid), fill=0, width=THICK)
    pen.arc((1090, 800, 1250, 900), 180, 360, fill=0, width=THICK)
    _line(pen, (1170, plate), (1170, 640))
    _resistor(pen, (1170, 320), (1170, plate), "R4 100k", (1220, 390))
    _line(pen, (1170, 180), (1170, 320))
    _line(pen, (1000, 180), (1340, 180))
    _words(pen, (1370, 150), "HT 3, 265 V")
    _line(pen, (1095, 850), (1095, cathode))
    _resistor(pen, (1095, cathode), (1095, 1150), "R3 1k5", (850, 1020))
    _chassis(pen, 1095, 1150)
    _line(pen, (1095, cathode), (1400, cathode))
    _capacitor(pen, 1400, cathode, 1150)
    _words(pen, (1490, 1020), "C1 25u 25 V")
    _chassis(pen, 1400, 1150)
    _line(pen, (1170, 560), (1640, 560))
    for x in (1640, 1680):
        pen.line((x, 500, x, 620), fill=0, width=THICK)
    _line(pen, (1680, 560), (2200, 560))
    _words(pen, (1590, 400), "C2 22n 400 V")
    _words(pen, (150, grid - 90), "from jack")
    _words(pen, (1960, 590), "to volume")
    _words(pen, (1380, 720), "V1a 12AX7")
    _words(pen, (150, 1370), "First gain stage, demo sheet 1: an invented circuit, not for use")


def _line(pen: ImageDraw.ImageDraw, begin: tuple[int, int], end: tuple[int, int]) -> None:
    pen.line((*begin, *end), fill=0, width=THIN)


def _resistor(pen: ImageDraw.ImageDraw, begin: tuple[int, int], end: tuple[int, int], words: str, at: tuple[int, int]) -> None:
    """A box between two ends (IEC 60617), across or down."""
    across = begin[1] == end[1]
    side = (0, 36) if across else (36, 0)
    pen.rectangle((begin[0] - side[0], begin[1] - side[1], end[0] + side[0], end[1] + side[1]), outline=0, width=THICK)
    _words(pen, at, words)


def _capacitor(pen: ImageDraw.ImageDraw, x: int, top: int, bottom: int) -> None:
    """Two plates between its ends, down."""
    middle = (top + bottom) // 2
    _line(pen, (x, top), (x, middle - 20))
    _line(pen, (x, middle + 20), (x, bottom))
    for y in (middle - 20, middle + 20):
        pen.line((x - 60, y, x + 60, y), fill=0, width=THICK)


def _chassis(pen: ImageDraw.ImageDraw, x: int, y: int) -> None:
    """Frame or chassis: a bar with strokes below it (IEC 60617)."""
    _line(pen, (x, y), (x, y + 60))
    pen.line((x - 60, y + 60, x + 60, y + 60), fill=0, width=THICK)
    for step in (-50, 0, 50):
        _line(pen, (x + step, y + 60), (x + step - 30, y + 100))


def _words(pen: ImageDraw.ImageDraw, at: tuple[int, int], words: str) -> None:
    pen.text(at, words, fill=0, font=ImageFont.load_default(54))
