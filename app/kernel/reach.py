"""Links that call or write: tel: (RFC 3966), sms: (RFC 5724), mailto: (RFC 6068). Empty where nothing can be dialled."""

from __future__ import annotations

import re
from urllib.parse import quote

LEAST_FIGURES = 3  # emergency numbers have three; what has fewer is no number
MOST_FIGURES = 15  # ITU-T E.164, 6.2.1
_EXTENSION = re.compile(r"\s*(?:ext\.?|extension|x|#)\s*(\d{1,7})\s*$", re.IGNORECASE)
_TRUNK = re.compile(r"\(0\)")  # written beside a country's code, and never dialled after it
_NUMBER = re.compile(r"\s*\+?[\d\s().\-/\u2010-\u2013\u00a0]+\s*")


def tel(number: str) -> str:
    """'tel:+61255501990' of '+61 (0)2 5550 1990'; '' for words, or two numbers."""
    plain, extension = _plain(number)
    return f"tel:{plain}{f';ext={extension}' if extension else ''}" if plain else ""


def sms(number: str) -> str:
    """The same for a text message; '' for a number with an extension, which takes none."""
    plain, extension = _plain(number)
    return f"sms:{plain}" if plain and not extension else ""


def mailto(address: str) -> str:
    """'mailto:wren@shop.example'; '' for what has no sign @ or a blank within."""
    plain = address.strip()
    return f"mailto:{quote(plain, safe='@!$*+-._~')}" if plain.count("@") == 1 and plain.isprintable() and " " not in plain else ""


def _plain(number: str) -> tuple[str, str]:
    """Figures with a leading plus, and the extension."""
    found = _EXTENSION.search(number)
    main = number[:found.start()] if found else number
    if not _NUMBER.fullmatch(main):
        return "", ""
    plus = main.strip().startswith("+")
    figures = "".join(sign for sign in (_TRUNK.sub("", main) if plus else main) if sign in "0123456789")
    if not LEAST_FIGURES <= len(figures) <= MOST_FIGURES:
        return "", ""
    return ("+" if plus else "") + figures, found.group(1) if found else ""
