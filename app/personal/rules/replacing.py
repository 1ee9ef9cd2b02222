"""Finding a person in texts, and putting a word in their place. Pure.

Name of two words or more, phone number in whatever way it is written, e-mail and postal address are found inside a text. A name
of one word is replaced only where it is the whole text: "Green" is a customer, and the colour of a wire in a finding. What else
a person is called is for the owner to say; those words are looked for in the records of the person's own repairs alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

GONE = "[erased]"
LEAST_DIGITS = 6  # fewer are a part number or a reading
LEAST_ADDRESS = 8  # letters: less is a word like any other
LEAST_WORD = 3
_BETWEEN = r"[\s\-./()]*"


@dataclass(frozen=True)
class Words:
    """All that a person is called and reached by, now and before."""

    names: frozenset[str] = frozenset()
    phones: frozenset[str] = frozenset()
    emails: frozenset[str] = frozenset()
    addresses: frozenset[str] = frozenset()
    further: frozenset[str] = frozenset()  # what the owner added


class Replacer:
    """Puts `token` in place of a person's name and "[erased]" in place of how they are reached.

    `shared`: what another customer is called or reached by too. It is replaced in the person's own records alone.
    """

    def __init__(self, words: Words, token: str, shared: Words = Words()) -> None:
        self.token = token
        self._names = frozenset(_plain(name) for name in words.names if _plain(name))
        self._whole = frozenset(_plain(one) for one in words.further | words.names)
        named = {_plain(one) for one in words.further if len(one.strip()) >= LEAST_WORD}
        self._left = frozenset(name for name in self._names if len(name.split()) == 1 and name not in named)
        self._own = _patterns(words, token)
        self._everywhere = _patterns(Words(words.names - shared.names, words.phones - shared.phones, words.emails - shared.emails,
                                           words.addresses - shared.addresses), token)
        self.literal = frozenset(one for one in {*(words.names - shared.names), *(words.phones - shared.phones),
                                                 *(words.emails - shared.emails)} if _findable(one))

    @property
    def left_in_texts(self) -> frozenset[str]:
        """Names of one word that the owner did not point out: inside a longer text they stay."""
        return self._left

    def is_person(self, text: str) -> bool:
        """Whether the whole text is a name of theirs."""
        return _plain(text) in self._names

    def text(self, text: str, *, own: bool) -> str:
        """The text without the person; `own`: it stands in a record of their own repairs."""
        if own and _plain(text) in self._whole and _plain(text):
            return self.token
        for pattern, instead in self._own if own else self._everywhere:
            text = pattern.sub(instead, text)
        return text

    def value(self, value: Any, *, own: bool) -> Any:
        """The same for whatever JSON holds."""
        if isinstance(value, str):
            return self.text(value, own=own)
        if isinstance(value, list | tuple):
            return [self.value(one, own=own) for one in value]
        if isinstance(value, Mapping):
            return {key: self.value(one, own=own) for key, one in value.items()}
        return value


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()


def _findable(text: str) -> bool:
    """Long enough, or of two words, to be looked for in everybody's records."""
    return len(text.split()) > 1 or "@" in text or len(re.sub(r"\D", "", text)) >= LEAST_DIGITS


def _patterns(words: Words, token: str) -> list[tuple[re.Pattern[str], str]]:
    """Longest first, so that no part of a longer one is left."""
    found = [(_words(one), GONE) for one in words.emails if one.strip()]
    found += [(_number(one), GONE) for one in words.phones if len(re.sub(r"\D", "", one)) >= LEAST_DIGITS]
    found += [(_words(one, r"[\s,]+"), GONE) for one in words.addresses if len(one.strip()) >= LEAST_ADDRESS]
    found += [(_words(one), token) for one in words.names if len(one.split()) > 1]
    found += [(_words(one), token) for one in words.further if len(one.strip()) >= LEAST_WORD]
    return [(re.compile(pattern, re.IGNORECASE), instead)
            for pattern, instead in sorted(set(found), key=lambda one: (-len(one[0]), one))]


def _words(text: str, between: str = r"\s+") -> str:
    parts = [re.escape(part) for part in re.split(r"[\s,]+" if "," in between else r"\s+", text.strip(" ,\n\r\t")) if part]
    return rf"(?<!\w){between.join(parts)}(?!\w)"


def _number(text: str) -> str:
    """A phone number however it is written: with its country's code, or with the 0 that stands in its place."""
    digits = re.sub(r"\D", "", text)
    spaced = _BETWEEN.join
    if text.strip().startswith(("+", "00")):
        whole = digits.removeprefix("00")
        forms = [rf"(?:\+|00)?{_BETWEEN}{spaced(whole)}"]
        forms += [rf"0{_BETWEEN}{spaced(whole[code:])}" for code in (1, 2, 3) if len(whole) - code >= LEAST_DIGITS]
    elif digits.startswith("0"):
        forms = [spaced(digits), rf"(?:\+|00)\d{{1,3}}{_BETWEEN}(?:0{_BETWEEN})?{spaced(digits[1:])}"]
    else:
        forms = [spaced(digits)]
    return rf"(?<![\d+])\(?(?:{'|'.join(forms)})(?!\d)"


def words_of(facts: Iterable[Mapping[str, Any]]) -> Words:
    """What a customer was called and reached by, from what their record said over time."""
    every = list(facts)

    def all_of(name: str) -> frozenset[str]:
        return frozenset(str(one[name]).strip() for one in every if one.get(name) and str(one[name]).strip() != GONE)

    return Words(all_of("name"), all_of("phone"), all_of("email"), all_of("address"))
