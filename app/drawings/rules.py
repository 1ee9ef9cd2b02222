"""What a drawing is, and whether a file is a whole PDF that opens without a password. Pure."""

from __future__ import annotations

import re
from enum import StrEnum

PDF = "application/pdf"
NEITHER = "That is neither a picture nor a PDF. JPEG, PNG, WebP and PDF are taken."
CALLED_PDF = "It is called .pdf and is none. Export the PDF again, or take a photo of the page."
PDF_INCOMPLETE = "The PDF is incomplete. Export or send it again."
PDF_LOCKED = "The PDF asks for a password. Save it without one, then add it again."
AVIF_WORDS = "AVIF is not taken for a drawing. Send it as JPEG, PNG or WebP."
HEIC_WORDS = "HEIC is not taken for a drawing, since browsers do not show it at full size. Send it as JPEG, PNG or WebP."
# ISO 32000-1, 7.5.5 and 7.5.8: a trailer names what encrypts the file, and is itself never encrypted or compressed.
_ENCRYPTED = re.compile(rb"/Encrypt\s+\d+\s+\d+\s+R\b|/Encrypt\s*<<")
_END_WITHIN = 1024  # bytes from the end in which readers look for the mark (ISO 32000-1, annex H.3, note 18; from memory)


class DrawingKind(StrEnum):
    """What a drawing shows."""

    SCHEMATIC = "schematic"
    LAYOUT = "layout"
    OTHER = "other"


def pdf_trouble(data: bytes) -> str | None:
    """Why this PDF is not taken, in words; None if nothing was found. It is not rendered: pages inside may still be bad."""
    if b"%%EOF" not in data[-_END_WITHIN:]:
        return PDF_INCOMPLETE
    return PDF_LOCKED if _ENCRYPTED.search(data) else None
