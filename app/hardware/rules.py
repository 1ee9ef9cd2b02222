"""What tells one screw, nut or washer from another, and how that is typed. Pure.

A class is said in one order: kind, thread or diameter, × length, head, finish; all but the kind may be left out. Lengths are
in millimetres unless they say `in`. What has neither size nor a known head or finish is a kind and nothing more.
Threads as their standards designate them, from memory: M4 and M8×1 (ISO 965-1), 6-32 (ASME B1.1), 4BA (BS 93); no. 8 is the
gauge of a wood screw. Kinds, heads and finishes: common practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

# The usual ones first: each has a counter of its own on the form of a removal.
USUAL = ("screw", "bolt", "nut", "flat washer", "spring washer", "toothed washer", "lock-nut", "grommet", "clip")
KINDS = (*USUAL, "wood screw", "self-tapping screw", "grub screw", "dress nut", "back-nut", "captive-washer nut", "tee nut",
         "fibre washer", "cup washer", "shoulder bush", "insulating bush", "spacer", "stand-off", "solder tag", "rivet",
         "cable tie")
THREADS = ("M2.5", "M3", "M4", "M5", "M6", "4BA", "6BA", "4-40", "6-32", "8-32", "10-32", "no. 6", "no. 8")
LENGTHS = ("6", "8", "10", "12", "16", "20", "25", "30", "40", "1/4 in", "3/8 in", "1/2 in", "3/4 in", "1 in")
SIZES = ("M3 × 6", "M3 × 10", "M4 × 10", "M4 × 16", "M5 × 20", "6-32 × 3/8 in", "no. 6 × 1/2 in", "no. 8 × 3/4 in")
HEADS = ("pan", "countersunk", "raised countersunk", "cheese", "round", "mushroom", "hex", "socket")
FINISHES = ("zinc", "nickel", "chrome", "black", "brass", "stainless")

_THREAD = (r"m\s?\d+(?:\.\d+)?(?:\s?[x×]\s?(?:0?\.\d+|1(?:\.\d+)?)(?=\s?[x×]))?|#?\d{1,2}-\d{2}|\d/\d{1,2}-\d{2}|\d{1,2}\s?ba"
           r"|(?:no\.?|#)\s?\d{1,2}|[ø⌀]\s?\d+(?:\.\d+)?")
_LENGTH = r"(?:\d+\s)?\d+/\d+\s?(?:inch|in\b|\"|″)?|\d+(?:\.\d+)?\s?(?:mm|inch|in\b|\"|″)?"
_SIZE = rf"(?:(?P<thread>{_THREAD})(?:\s?mm)?)?(?:\s?[x×*]\s?(?P<length>{_LENGTH}))?"
_KIND_FIRST = re.compile(rf"(?P<kind>.+?)\s+(?={_THREAD}|[x×*]\s?\d){_SIZE}(?:\s+(?P<rest>.+))?", re.IGNORECASE)
_SIZE_FIRST = re.compile(rf"(?={_THREAD}){_SIZE}\s+(?P<rest>.+)", re.IGNORECASE)


@dataclass(frozen=True)
class Hardware:
    """One class. `thread` is a thread or a diameter (Ø 8); `length` "16" in mm, or "3/8 in"."""

    kind: str
    thread: str = ""
    length: str = ""
    head: str = ""
    finish: str = ""

    @property
    def size(self) -> str:
        """'M4 × 16'; empty where nothing is said."""
        return " ".join(filter(None, (self.thread, f"× {self.length}" if self.length else "")))

    @property
    def label(self) -> str:
        """'screw M4 × 16 pan', as it is typed and counted."""
        return " ".join(filter(None, (self.kind, self.size, self.head, self.finish)))


def fold(text: str) -> str:
    """Small letters, white space folded: how two typed classes are compared."""
    return " ".join(text.split()).lower()


def read_class(text: str) -> Hardware:
    """The class that a text names. Never refuses: words that it does not know belong to the kind, after a size to the finish."""
    plain = " ".join(text.split())
    if found := _SIZE_FIRST.fullmatch(plain):
        kind, rest = _kind_and_rest(found["rest"].lower())
        return Hardware(kind, _thread(found["thread"]), _length(found["length"]), *_head_and_finish(rest))
    if found := _KIND_FIRST.fullmatch(plain):
        return Hardware(found["kind"].lower(), _thread(found["thread"]), _length(found["length"]),
                        *_head_and_finish((found["rest"] or "").lower()))
    return _without_size(plain.lower())


def _kind_and_rest(text: str) -> tuple[str, str]:
    """A known kind at the start and what follows; else all of it is the kind."""
    for kind in sorted(KINDS, key=len, reverse=True):
        if text == kind or text.startswith(kind + " "):
            return kind, text[len(kind):].strip()
    return text, ""


def _without_size(text: str) -> Hardware:
    """'screw pan zinc': a known kind followed by nothing but a known head and a known finish."""
    kind, rest = _kind_and_rest(text)
    head, finish = _head_and_finish(rest)
    if rest and (head or finish) and (not finish or finish in FINISHES):
        return Hardware(kind, head=head, finish=finish)
    return Hardware(text)


def _head_and_finish(rest: str) -> tuple[str, str]:
    for head in sorted(HEADS, key=len, reverse=True):
        if rest == head or rest.startswith(head + " "):
            return head, rest[len(head):].strip()
    return "", rest


def _thread(text: str | None) -> str:
    plain = re.sub(r"\s+", "", text or "").lower().replace("×", "x")
    if not plain:
        return ""
    if plain[0] in "ø⌀":
        return f"Ø {_number(plain[1:])}"
    if plain[0] == "m":
        diameter, _, pitch = plain[1:].partition("x")
        return f"M{_number(diameter)}" + (f"×{_number(pitch)}" if pitch else "")
    if plain.endswith("ba"):
        return plain.upper()
    if "-" in plain:
        return plain.removeprefix("#")
    return "no. " + plain.removeprefix("no").lstrip(".#")


def _length(text: str | None) -> str:
    plain = (text or "").lower().strip()
    inches = re.fullmatch(r"(.+?)\s?(?:inch|in|\"|″)?", plain) if "/" in plain else re.fullmatch(r"(.+?)\s?(?:inch|in|\"|″)", plain)
    if inches:
        return f"{inches[1]} in"
    return _number(plain.removesuffix("mm").strip())


def _number(text: str) -> str:
    """16.0 and 16 are one length; nothing stays nothing."""
    return f"{float(text):g}" if text else ""
