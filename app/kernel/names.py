"""Whether two typed names are one person's. Pure."""

from __future__ import annotations

import re
import unicodedata

_WORD = re.compile(r"\w+")


def words_of(name: str) -> tuple[str, ...]:
    """The words of a name in one form, whatever their order, case, width and marks: "Adler, Wren" and "wren adler" are one."""
    plain = "".join(sign for sign in unicodedata.normalize("NFKD", name.casefold()) if not unicodedata.combining(sign))
    return tuple(sorted(word for word in _WORD.findall(plain.replace("_", " ")) if any(sign.isalpha() for sign in word)))


def same_name(one: str, other: str) -> bool:
    """Whether both name somebody, and the same person as far as words can tell."""
    return bool(words_of(one)) and words_of(one) == words_of(other)


def why_not_typed(typed: str, name: str) -> str:
    """Why a typed name is no signature of this person; empty if it is."""
    if not words_of(typed):
        return "Have them type their name."
    return "" if same_name(typed, name) else f"The typed name is not {name}: have them type it as it stands above."


def why_no_witness(witness: str, *, refuser: str, writer: str) -> str:
    """Why this name cannot witness a refusal; empty if it can. (Common practice, no source: a witness is a third person.)"""
    if not words_of(witness):
        return "Name a second person who witnessed the refusal."
    if same_name(witness, refuser):
        return "Nobody witnesses their own refusal: name someone else who was there."
    if same_name(witness, writer):
        return "The witness must be someone other than you."
    return ""
