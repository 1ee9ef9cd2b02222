"""Drawing the photographs on every processor, while the stories are told."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager

from demo_data import pictures
from demo_data.story import Picture

Place = tuple[float, float]
Plate = tuple[bytes, dict[str, Place]]  # a JPEG file, and the places on it that are worth a pin


@contextmanager
def developing(wanted: Iterable[Picture]) -> Iterator[Callable[[Picture], Plate]]:
    """Begin to draw every picture, in this order, each drawing once; inside, the picture is asked for and waited for.

    Enter it early: the processes that draw are copies of this one as it is then.
    """
    with ProcessPoolExecutor() as workers:
        try:
            drawn = {key(one): workers.submit(_draw, one) for one in {key(one): one for one in wanted}.values()}
            yield lambda one: drawn[key(one)].result()
        finally:
            workers.shutdown(cancel_futures=True)


def key(one: Picture) -> str:
    """What makes two pictures the same drawing."""
    return f"{one.name}/{one.seed}/{sorted(one.flags.items())}"


def _draw(one: Picture) -> Plate:
    image = getattr(pictures, one.name)(one.seed, **one.flags)
    return pictures.as_jpeg(image, with_gps=True), pictures.places(image)
