"""Taking a drawing's file in: a picture as photos are taken in, a PDF as it is. Done before anything is written to the database."""

from __future__ import annotations

from dataclasses import dataclass

from werkzeug.datastructures import FileStorage

from app.drawings.rules import AVIF_WORDS, CALLED_PDF, HEIC_WORDS, NEITHER, PDF, pdf_trouble
from app.errors import BadInput
from app.photos.kinds import Kind, kind_of
from app.photos.picture import MOST_BYTES
from app.photos.prepare import name_of, prepare, stored


@dataclass(frozen=True)
class PreparedDrawing:
    """A file whose bytes are in the store. Copies and size in pixels only of a picture."""

    sha256: str
    media_type: str
    web_sha256: str | None = None
    thumb_sha256: str | None = None
    width: int | None = None
    height: int | None = None


def take(upload: FileStorage) -> PreparedDrawing:
    """Take one file in. BadInput in words if it is no drawing, Unavailable if the store cannot keep it."""
    data = upload.stream.read(MOST_BYTES + 1)
    if data.startswith(b"%PDF-"):
        return _pdf(data)
    kind = kind_of(data)
    if kind is Kind.HEIC:
        raise BadInput(HEIC_WORDS, "file")
    if kind is Kind.AVIF:
        raise BadInput(AVIF_WORDS, "file")
    if kind is None:
        empty = "The file is empty. Choose it again."
        raise BadInput(empty if not data else CALLED_PDF if name_of(upload).lower().endswith(".pdf") else NEITHER, "file")
    upload.stream.seek(0)
    done = prepare(upload)
    return PreparedDrawing(done.sha256, done.media_type, done.web_sha256, done.thumb_sha256, done.width, done.height)


def _pdf(data: bytes) -> PreparedDrawing:
    if len(data) > MOST_BYTES:
        raise BadInput("The PDF is larger than 25 MB. Save it in parts, or as a smaller file.", "file")
    if (wrong := pdf_trouble(data)) is not None:
        raise BadInput(wrong, "file")
    return PreparedDrawing(stored(data, what="drawing")[0], PDF)
