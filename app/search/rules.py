"""How text is made alike for searching, and what a typed search asks for. Pure.

Text is kept as its words in small letters without accents, each with two blanks before it and two behind the last. So one
index of three signs answers all there is to ask: a word of three signs or more is found anywhere inside another ("dholt" in
"windholt"), a shorter one at the beginning of a word ("  w", "  wi"), a whole word by the blanks around it. What holds a digit
is kept without its marks as well: "M30-0117" is found as "m30 0117", "m300117" and "m30.0117".
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

GAP = "  "
MOST_WORDS = 8
MOST_TYPED = 120  # signs; more is not a search but a paste
SHORTEST_INSIDE = 3  # signs from which a word is looked for inside others
LONGEST_CODE = 48  # signs up to which a text with a digit may be a number, a serial or a phone
FEWEST_DIGITS = 6  # of what is typed, before it is taken for a phone number; with a + at once
FEWEST_SHARED = 4  # of the digits that are then looked for
AROUND = 4  # words shown before and behind what was found in a long text
FINGERPRINT = 16  # signs of a SHA-256 that are shown in lists, and kept
_PHONE = re.compile(r"[+(]?[0-9][0-9 ().\-/\u2009\u202f\u00a0]*")
_SHA256 = re.compile(r"[0-9a-f]{64}")
Needles = tuple[str, ...]


@dataclass(frozen=True)
class Search:
    """What was typed, understood: any of the alternatives, each with all of its needles; and the number, if it is one."""

    typed: str
    anywhere: tuple[Needles, ...]
    whole: tuple[Needles, ...]
    number: int | None

    @property
    def is_empty(self) -> bool:
        return not self.anywhere

    def fits(self, text: str) -> bool:
        """Whether a haystack holds all needles of any alternative."""
        return any(all(needle in text for needle in needles) for needles in self.anywhere)

    def touches(self, text: str) -> bool:
        """Whether a haystack holds any needle."""
        return any(needle in text for needles in self.anywhere for needle in needles)


def words_of(text: str) -> list[str]:
    """The words of a text in small letters, without accents and marks."""
    plain = "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(c))
    return "".join(c if c.isalnum() else " " for c in plain).split()


def squeezed(text: str) -> str:
    """A number, serial or phone without its marks; empty if the text is none."""
    if len(text) > LONGEST_CODE or not any(c.isdigit() for c in text):
        return ""
    return "".join(words_of(text))


def haystack(texts: Iterable[str]) -> str:
    """What is looked through for these texts: every word once, and every code without its marks."""
    found: dict[str, None] = {}
    for text in texts:
        words = words_of(text)
        found |= dict.fromkeys(words)
        if len(words) > 1 and (code := squeezed(text)):
            found[code] = None
    return f"{GAP}{GAP.join(found)}{GAP}" if found else ""


def understand(typed: str, region: str | None = None) -> Search:
    """What is asked for. `region` (ISO 3166, "AU") is where the shop is: which phone forms mean the same number."""
    typed = typed.strip()[:MOST_TYPED]
    words = [word[:FINGERPRINT] if _SHA256.fullmatch(word) else word for word in dict.fromkeys(words_of(typed))][:MOST_WORDS]
    if not words:
        return Search(typed, (), (), None)
    if cores := phone_cores(typed, region):  # what every form holds: the digits as typed say nothing more
        return Search(typed, tuple((core,) for core in cores), (), _number(words))
    anywhere: dict[Needles, None] = {tuple(_inside(word) for word in words): None}
    whole: dict[Needles, None] = {}
    if any(c.isdigit() for c in typed):
        whole[tuple(f"{GAP}{word}{GAP}" for word in words)] = None
        if len(words) > 1 and (code := squeezed(typed)):
            anywhere[(_inside(code),)] = None
            whole[(f"{GAP}{code}{GAP}",)] = None
    return Search(typed, tuple(anywhere), tuple(whole), _number(words))


def _number(words: Sequence[str]) -> int | None:
    """What was typed as the number of a repair, if it can be one."""
    return int(words[0]) if len(words) == 1 and words[0].isascii() and words[0].isdigit() and len(words[0]) < 9 else None


def phone_cores(typed: str, region: str | None) -> tuple[str, ...]:
    """The digits that every way of writing this phone number has in common; empty if it cannot be a phone number.

    "+61 491 570 156", "0491 570 156", "0011 61 491 570 156" and "(0)491 570 156" have "491570156" in common, in Australia.
    What is typed so far is enough. Prefixes by country: the library phonenumbers (from ITU-T E.164 and national plans).
    """
    digits, abroad = re.sub(r"[^0-9]", "", typed), typed.strip().startswith("+")
    if region is None or not _PHONE.fullmatch(typed.strip()) or len(digits) < (FEWEST_SHARED if abroad else FEWEST_DIGITS):
        return ()
    import phonenumbers  # not on the way to the first page

    plain = re.sub(r"\(0\)", "", typed)
    found = dict.fromkeys([] if abroad else [_national(digits, region)])
    try:
        parsed = phonenumbers.parse(plain, region)
        found["0" * (parsed.number_of_leading_zeros or bool(parsed.italian_leading_zero)) + str(parsed.national_number)] = None
    except phonenumbers.NumberParseException:
        pass  # too short to be one yet: the digits as typed are looked for all the same
    return tuple(one for one in found if len(one) >= FEWEST_SHARED)


def _national(digits: str, region: str) -> str:
    import phonenumbers

    prefix = phonenumbers.ndd_prefix_for_region(region, True) or ""
    return digits.removeprefix(prefix) if prefix and digits.startswith(prefix) else digits


def _inside(word: str) -> str:
    """A word as it is looked for: inside others, or where one begins if it is too short for that."""
    return word if len(word) >= SHORTEST_INSIDE else GAP + word


def trigrams(needle: str) -> list[str]:
    """Groups of three signs to look in the index for; whether they stand beside each other is then looked up.

    Of letters those that cover the needle side by side: few, and rarely together by chance. Around blanks every one: there
    chance is on the other side.
    """
    steps = range(len(needle) - 2) if " " in needle else range(0, len(needle), 3)
    return list(dict.fromkeys(needle[min(at, len(needle) - 3):][:3] for at in steps))


def matched(facts: Sequence[Sequence[str]], search: Search) -> list[tuple[str, str]]:
    """The facts in which something typed was found: label and value, a long value cut down to the words around it."""
    found = []
    for label, value in facts:
        if search.touches(haystack([value])):
            found.append((label, _around(value, search)))
    return found


def _around(value: str, search: Search) -> str:
    words = value.split()
    if len(words) <= 2 * AROUND + 2:
        return " ".join(words)
    here = next((at for at, word in enumerate(words) if search.touches(haystack([word]))), 0)
    first, last = max(here - AROUND, 0), here + AROUND + 1
    return f"{'… ' if first else ''}{' '.join(words[first:last])}{' …' if last < len(words) else ''}"
