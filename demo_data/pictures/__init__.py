"""Photographs that were never taken: amplifiers inside and out, drawn with light and shadow.

Every picture is 1600 × 1200 RGB and the same for the same seed and conditions. Conditions change what they name
and leave the view as it was, so that one seed gives the same place as found and as left.
"""

from __future__ import annotations

from PIL import Image

from .camera import as_jpeg
from .inside import chassis_underside, finished_board, found_washer, tag_board, valve_base, wiring
from .outside import (
    cabinet_back,
    cabinet_front,
    cabinet_side,
    cabinet_top,
    control_panel,
    footswitch,
    serial_plate,
    speaker,
)
from .power import capacitor_can, mains_inlet, transformer


def places(picture: Image.Image) -> dict[str, tuple[float, float]]:
    """Where the things worth a pin are: name → share of the width from the left, of the height from the top."""
    mark = "place:"
    named = ((str(key), at) for key, at in picture.info.items())
    return {key.removeprefix(mark): at for key, at in named if key.startswith(mark)}


__all__ = [
    "as_jpeg",
    "cabinet_back",
    "cabinet_front",
    "cabinet_side",
    "cabinet_top",
    "capacitor_can",
    "chassis_underside",
    "control_panel",
    "finished_board",
    "footswitch",
    "found_washer",
    "mains_inlet",
    "places",
    "serial_plate",
    "speaker",
    "tag_board",
    "transformer",
    "valve_base",
    "wiring",
]
