"""One figure of the run: a thing and a plain thing beside it, timed in turns by the clock and by the processor."""

from __future__ import annotations

import gc
import resource
import statistics
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from app.launch.words import say

SHORT = 15  # runs of each; a long act gets fewer, as its time allows
FEWEST = 5
SECONDS = 9.0  # for one figure


@dataclass(frozen=True)
class Figure:
    """Medians of n runs each, taken in turns: ms by the clock and of processor time, of the thing and of the plain one beside it.

    Processor time counts this process and those that it started and that have ended; None where another process did the work.
    """

    what: str
    beside: str
    n: int
    ms: float
    beside_ms: float
    cpu_ms: float | None
    beside_cpu_ms: float | None

    @property
    def ratio(self) -> float:
        return self.ms / self.beside_ms

    @property
    def cpu_ratio(self) -> float | None:
        return self.cpu_ms / self.beside_cpu_ms if self.cpu_ms is not None and self.beside_cpu_ms else None


def compare(what: str, thing: Callable[[], object], beside: str, plain: Callable[[], object], *, cpu: bool = True) -> Figure:
    """Both in turns, so that a busy moment of the machine hits both; once each beforehand to warm up. Says what it does."""
    say(f"  {what}, beside {beside}")
    taken: tuple[list[tuple[float, float]], list[tuple[float, float]]] = ([], [])
    until = time.monotonic() + SECONDS
    while len(taken[1]) <= FEWEST or (len(taken[1]) <= SHORT and time.monotonic() < until):
        for times, call in zip(taken, (thing, plain), strict=True):
            gc.collect()
            began, busy = time.perf_counter(), processor_seconds()
            call()
            times.append((time.perf_counter() - began, processor_seconds() - busy))
    (ms, cpu_ms), (beside_ms, beside_cpu_ms) = (
        [statistics.median(column) * 1000 for column in zip(*runs[1:], strict=True)] for runs in taken)
    return Figure(what, beside, len(taken[1]) - 1, ms, beside_ms, cpu_ms if cpu else None, beside_cpu_ms if cpu else None)


def processor_seconds() -> float:
    """Of this process and of all that it started and that have ended."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def table(found: Iterable[Figure]) -> Iterator[str]:
    """The figures as lines of text."""
    yield f"{'what':<38} {'n':>3} {'clock':>10} {'ratio':>7} {'processor':>10} {'ratio':>7}  beside"
    for one in found:
        cpu = "        -       -" if one.cpu_ms is None else f"{one.cpu_ms:>7.2f} ms {one.cpu_ratio or 0:>7.2f}"
        yield f"{one.what:<38} {one.n:>3} {one.ms:>7.2f} ms {one.ratio:>7.2f} {cpu:>18}  {one.beside}, {one.beside_ms:.2f} ms"
