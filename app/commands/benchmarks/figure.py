"""One figure of the run: a thing and a plain thing beside it, timed in turns."""

from __future__ import annotations

import gc
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """Medians of n runs each, taken in turns: ms of the thing itself and of the plain thing beside it."""

    what: str
    beside: str
    n: int
    ms: float
    beside_ms: float

    @property
    def ratio(self) -> float:
        return self.ms / self.beside_ms


def compare(what: str, thing: Callable[[], object], beside: str, plain: Callable[[], object], n: int) -> Figure:
    """Both in turns, so that a busy moment of the machine hits both; once each beforehand to warm up."""
    taken: tuple[list[float], list[float]] = ([], [])
    for run in range(n + 1):
        for times, call in zip(taken, (thing, plain), strict=True):
            gc.collect()
            began = time.perf_counter()
            call()
            if run:
                times.append((time.perf_counter() - began) * 1000)
    return Figure(what, beside, n, statistics.median(taken[0]), statistics.median(taken[1]))
