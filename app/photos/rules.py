"""The words that a photo is usually given, as chips. Pure."""

from __future__ import annotations

PLACES: tuple[str, ...] = (
    "front", "back", "cabinet", "top of the chassis", "under the chassis", "mains inlet", "HT supply", "valve bases",
    "board 1", "board 2", "controls", "jack sockets", "transformers", "speaker", "paper",
)
CAPTIONS: tuple[str, ...] = (
    "whole view", "close-up", "marking", "wires before lifting", "solder side", "damage", "earlier work",
    "after cleaning", "new part in",
)
