"""How forms speak: the shop's own words for a label, and the currency that a sum is typed in.

The kernel knows no shop, so both are handed in when the application is built.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Speech:
    """`say` turns text that is written in valve words into the shop's own; `currency` is its ISO 4217 code."""

    say: Callable[[str], str]
    currency: Callable[[], str]


_speech: Speech | None = None


def use(speech: Speech) -> None:
    """Speak like this from now on."""
    global _speech  # noqa: PLW0603 - the kernel knows no shop: it is handed in once
    _speech = speech


def say(text: str) -> str:
    """The text in the shop's own words."""
    return _speech.say(text) if _speech else text


def currency() -> str:
    """The currency that a sum is typed in."""
    if _speech is None:
        raise RuntimeError("app.kernel.speech was not told the shop's currency")
    return _speech.currency()
