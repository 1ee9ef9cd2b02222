"""Solve ten thousand random sane circuits and say which did not settle: python -m tests.reference.converge [how many].

Families and seeds: tests/reference/nets.py. The suite solves a sample of them.
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter

from app.electrics import ElectricsError, solve
from tests.reference import nets


def main(count: int) -> int:
    """Print a table by family and every circuit that failed; the number of those."""
    tried: Counter[str] = Counter()
    failed: Counter[str] = Counter()
    start = time.perf_counter()
    for number in range(count):
        name = list(nets.ALL_NETS)[number % len(nets.ALL_NETS)]
        tried[name] += 1
        try:
            solve(nets.ALL_NETS[name](random.Random(number)))
        except ElectricsError as wrong:
            failed[name] += 1
            print(f"{name}, seed {number}: {wrong}")
    for name, times in tried.items():
        print(f"{name:28} {times:6} solved, {failed[name]} failed")
    print(f"{count} circuits in {time.perf_counter() - start:.0f} s, {failed.total()} failed")
    return failed.total()


if __name__ == "__main__":
    sys.exit(1 if main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000) else 0)
