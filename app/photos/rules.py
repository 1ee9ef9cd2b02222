"""The words of a photo: those it is usually given, as chips, and how they are said in one line. Pure."""

from __future__ import annotations

PLACES: tuple[str, ...] = (
    "front", "back", "cabinet", "top of the chassis", "under the chassis", "mains inlet", "HT supply", "valve bases",
    "board 1", "board 2", "controls", "jack sockets", "transformers", "speaker", "paper",
)
CAPTIONS: tuple[str, ...] = (
    "whole view", "close-up", "marking", "wires before lifting", "solder side", "damage", "earlier work",
    "after cleaning", "new part in",
)


def said(place: str, caption: str, phase_word: str) -> str:
    """What a photo shows, in one line: its text alternative."""
    told = place
    if caption:
        told = caption if caption.lower().startswith(place.lower()) else f"{place}: {caption}"
    return told if told.lower().endswith(phase_word) else f"{told} ({phase_word})"
