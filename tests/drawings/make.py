"""A drawing's files, made here: a picture with lines on it, and the smallest whole PDF (ISO 32000-1, 7.5, by hand)."""

from __future__ import annotations

import io

from PIL import Image, ImageDraw
from werkzeug.datastructures import FileStorage

from app.drawings import service
from app.drawings.models import Drawing
from app.drawings.prepare import take
from app.drawings.rules import DrawingKind
from app.drawings.spec import DrawingFacts
from tests.factories import NOW
from tests.people import BY


def picture(width: int = 640, height: int = 400, kind: str = "PNG") -> bytes:
    """Black lines on white."""
    image = Image.new("RGB", (width, height), "white")
    pen = ImageDraw.Draw(image)
    for at in range(0, width, 80):
        pen.line((at, 0, width - at, height), "black", 3)
    out = io.BytesIO()
    image.save(out, kind)
    return out.getvalue()


def pdf(*, trailer: bytes = b"", end: bytes = b"%%EOF\n") -> bytes:
    """One empty page of A4."""
    objects = (b"<< /Type /Catalog /Pages 2 0 R >>", b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
               b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] >>")
    out, places = b"%PDF-1.7\n", []
    for number, body in enumerate(objects, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    table = b"xref\n0 4\n0000000000 65535 f \n" + b"".join(b"%010d 00000 n \n" % place for place in places)
    return out + table + b"trailer\n<< /Size 4 /Root 1 0 R %s>>\nstartxref\n%d\n" % (trailer, len(out)) + end


def upload(data: bytes, name: str) -> FileStorage:
    return FileStorage(io.BytesIO(data), name, "file")


def drawing(maker: str = "Tarnholt", model: str = "Meridian 30", title: str = "Preamp", data: bytes | None = None) -> Drawing:
    """A drawing of this model; call inside a transaction."""
    return service.add_drawing(DrawingFacts(maker, model, title, DrawingKind.SCHEMATIC, "drawn here"),
                               take(upload(data or picture(), "preamp.png")), by=BY, now=NOW)
