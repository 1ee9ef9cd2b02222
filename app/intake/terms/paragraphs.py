"""Terms as one text: how the owner writes them. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence

from app.errors import BadInput


def paragraphs_in(text: str) -> tuple[tuple[str, str], ...]:
    """The paragraphs of a text: a blank line between two, the first line of each its head. BadInput names one without a text.

    >>> paragraphs_in("Care\\nWe take care.\\n\\nCost\\nYou are asked first.")
    (('Care', 'We take care.'), ('Cost', 'You are asked first.'))
    """
    found = []
    for block in re.split(r"\n[ \t]*\n", text.replace("\r\n", "\n").strip()):
        head, _, rest = block.strip().partition("\n")
        if not head.strip():
            continue
        if not rest.strip():
            raise BadInput(f"The paragraph “{head.strip()[:60]}” has no text. Write its head on one line, its text below.", "text")
        found.append((head.strip().rstrip("."), " ".join(rest.split())))
    return tuple(found)


def as_text(paragraphs: Sequence[tuple[str, str] | list[str]]) -> str:
    """Paragraphs as they are written in one field."""
    return "\n\n".join(f"{head}\n{text}" for head, text in paragraphs)
