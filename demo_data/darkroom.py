"""Drawing the photographs, several at once, before the story is told."""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor

from demo_data import pictures
from demo_data.story import Picture

Place = tuple[float, float]


def develop(wanted: Iterable[Picture]) -> dict[str, tuple[bytes, dict[str, Place]]]:
    """Every picture as a JPEG file, with the places on it that are worth a pin, by `key`."""
    unique = list({key(one): one for one in wanted}.values())
    with ProcessPoolExecutor() as workers:
        return dict(zip((key(one) for one in unique), workers.map(_draw, unique), strict=True))


def key(one: Picture) -> str:
    """What makes two pictures the same drawing."""
    return f"{one.name}/{one.seed}/{sorted(one.flags.items())}"


def _draw(one: Picture) -> tuple[bytes, dict[str, Place]]:
    image = getattr(pictures, one.name)(one.seed, **one.flags)
    return pictures.as_jpeg(image, with_gps=True), pictures.places(image)
