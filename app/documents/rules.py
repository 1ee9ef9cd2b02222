"""Which papers there are, what they are called, and what a name of a file may hold. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from enum import StrEnum

from app.shop.wording import Pack


class Kind(StrEnum):
    """One kind of paper."""

    RECEIPT = "receipt"
    ESTIMATE = "estimate"
    REPORT = "report"
    UNREPAIRED = "unrepaired"
    NOTICE = "notice"
    BILL = "bill"
    CREDIT = "credit"
    PAYMENT = "payment"

    @property
    def word(self) -> str:
        return {"receipt": "Receipt", "estimate": "Quote", "report": "Repair report",
                "unrepaired": "Label and acknowledgement", "notice": "Notice to collect", "bill": "Bill", "credit": "Credit note",
                "payment": "Receipt of a payment"}[self.value]

    @property
    def is_money(self) -> bool:
        """Whether it is about money that may still be owed, paid or credited after the amp has left."""
        return self in (Kind.BILL, Kind.CREDIT, Kind.PAYMENT)

    def called(self, pack: Pack) -> str:
        """Its word in a shop that uses this pack: an American shop gives estimates."""
        return "Estimate" if self is Kind.ESTIMATE and pack is Pack.TUBE else self.word

    @property
    def use(self) -> str:
        """What it is for, in a few words."""
        return {"receipt": "for whoever left the amp", "estimate": "to agree to or decline", "report": "goes out with the amp",
                "unrepaired": "for an amp that leaves unrepaired", "notice": "to whoever has not come for it",
                "bill": "to whoever approved the cost", "credit": "corrects a bill",
                "payment": "for whoever paid"}[self.value]


def file_name(number: int, kind: Kind, revision: int, media_type: str) -> str:
    """The name under which a paper is saved: 'repair-1047-report-r2.pdf'. Nothing in it was typed by anybody."""
    ending = "pdf" if media_type == "application/pdf" else "html"
    return f"repair-{number}-{kind.value}-r{revision}.{ending}"


def css_string(text: str) -> str:
    """Text for a `content:` of a style sheet, every sign but letters, digits and blanks written as its number.

    The blank after such a number belongs to it.
    """
    return '"' + "".join(c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):06x} " for c in text) + '"'


# Where a template names a resource. Typed text has neither sign: a `<` and a quote in it are written as references, in a style
# as numbers. So an address that somebody typed stands as they typed it, and names nothing.
_PHOTO = re.compile(r'(?<=<img src=")paper:photo/(\d+)/([0-9a-f]{64})\.jpg(?=")')
_RESOURCE = re.compile(r'(?:(?<=<img src=")|(?<=url\("))paper:[^"<>&\s]+(?=")')


def photo_address(photo_id: int, web_sha256: str) -> str:
    """How the page of a paper names a photo."""
    return f"paper:photo/{photo_id}/{web_sha256}.jpg"


def with_resources(page: str, at: Mapping[str, str]) -> str:
    """The page with each resource that its template names at this address instead. KeyError for one that is not there."""
    return _RESOURCE.sub(lambda found: at[found.group(0)], page)


def photos_in(page: str) -> dict[str, tuple[int, str]]:
    """Every photo that a page shows: its address, the photo's id and the SHA-256 of its web copy."""
    return {found.group(0): (int(found.group(1)), found.group(2)) for found in _PHOTO.finditer(page)}
