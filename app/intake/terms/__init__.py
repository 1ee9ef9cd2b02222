"""Terms by jurisdiction: dated data in this folder, one file each, in our own words with their source.

They are not legal advice. The shop checks them against its own current law; whatever is printed names the set and the
day it was checked. A file holds: id, title, checked, caution (to the shop) and paragraphs of head, text, source, its address and
how the source was read: "seen", "secondary" (a summary by somebody else), "from memory" or "common practice". `prescribed` marks
wording that the law lays down. `invoice` holds what the law wants on the invoice too, `look_up` what was not read, and where to
look.
"""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from app.kernel.local_forms import ENGLISH, long_day

FOLDER = Path(__file__).parent
PLAIN = "plain"
CERTAIN = ("seen", "common practice")  # read in its source, or nobody's law
UNCONFIRMED = "Not confirmed in its source: check before you rely on it."


@dataclass(frozen=True)
class Paragraph:
    """One matter: its head, our words for it, where it stands and how that was read."""

    head: str
    text: str
    source: str
    read: str
    prescribed: bool = False
    address: str = ""

    @property
    def unconfirmed(self) -> bool:
        """Nobody read it in the text that it comes from."""
        return self.read not in CERTAIN

    @property
    def printed(self) -> str:
        """Its text as it stands on paper, with the warning where it was not read in its source."""
        return f"{self.text} ({UNCONFIRMED})" if self.unconfirmed else self.text


@dataclass(frozen=True)
class LookUp:
    """What was not read, and where it stands."""

    matter: str
    where: str


@dataclass(frozen=True)
class Terms:
    """The terms of one jurisdiction as they stood on the day they were checked."""

    id: str
    title: str
    checked: date
    caution: str
    paragraphs: tuple[Paragraph, ...]
    invoice: tuple[Paragraph, ...] = ()
    look_up: tuple[LookUp, ...] = ()
    edition: int = 0  # of the shop's own terms; 0: the program's own set


@functools.cache
def known() -> dict[str, Terms]:
    """Every set there is, by its id."""
    found = (_read(tomllib.loads(path.read_text("utf-8"))) for path in sorted(FOLDER.glob("*.toml")))
    return {one.id: one for one in found}


def for_jurisdiction(jurisdiction: str) -> Terms:
    """The set for this jurisdiction; the plain one, which names no law, where there is none."""
    return known().get(jurisdiction.strip().lower(), known()[PLAIN])


def text_to_sign(terms: Terms, *, shop: str, amp: str, fee: str, fee_credited: bool, ceiling: str, day: str,
                 locale: str = ENGLISH, left: Sequence[tuple[str, str]] = (), declining: str = "") -> str:
    """The whole text that is shown, signed and kept: what was left and said, the terms, then what this diagnosis may cost.

    Sums in words. `left`: head and text of each matter of this amp; `declining`: the sum when a quote is declined, "" for none.
    """
    credited = " It counts towards the repair if the repair goes ahead." if fee_credited else ""
    money = (f"The diagnosis fee is {fee}.{credited} The shop stops and asks before the diagnosis costs more "
             f"than {ceiling} in all, tax included. Nothing is repaired before a quote is agreed.")
    blocks = [f"Terms for the repair of: {amp}", f"{shop}. {terms.title}, checked on {long_day(terms.checked, locale)}."]
    blocks += [f"{head}. {' '.join(text.split())}" for head, text in left]
    blocks += [f"{one.head}. {one.printed}" for one in terms.paragraphs]
    decline = f"Declining it costs {declining}." if declining else "Declining it costs nothing more."
    blocks += [f"If you decline the quote. {decline} You get the amp back as the quote says.",
               "Storage. None is charged unless these terms say so above.",
               f"Diagnosis charge. {money}",
               f"Dated {day}. These are the shop’s own words: where the law of this place gives you more, the law prevails."]
    return "\n\n".join(blocks)


def _read(given: dict[str, Any]) -> Terms:
    def of(kind: str) -> tuple[Paragraph, ...]:
        return tuple(Paragraph(**one) for one in given.get(kind, ()))
    return Terms(given["id"], given["title"], given["checked"], given["caution"], of("paragraph"), of("invoice"),
                 tuple(LookUp(**one) for one in given.get("look_up", ())))
