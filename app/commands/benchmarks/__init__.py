"""`bench`: what this machine needs for the program's heavy parts, each as a ratio to something plain timed in the same run.

A ratio hardly depends on the machine, so that two versions can be compared across machines; the milliseconds are for the user.
Everything happens in a folder that is made for it and removed, or in an empty database that is named and left filled.
"""

from __future__ import annotations

import argparse
import gc
import json
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

from app.commands.benchmarks import memory, shop, sizes, start, sums
from app.commands.benchmarks.figure import Figure, table
from app.commands.benchmarks.told import told_shop
from app.config import driver
from app.launch.words import say


def bench(given: argparse.Namespace) -> None:
    """Measure, saying what is measured, and print a table or JSON."""
    began = time.monotonic()
    say("Measuring; each thing in turns with a plain one. A ratio is what to compare.")
    with tempfile.TemporaryDirectory(prefix="tagstrip-bench-") as folder:
        found = [*_measured(given, Path(folder))]
        peaks = [] if given.orders or given.database else [memory.peak(Path(folder))]
    say(f"Measured in {time.monotonic() - began:.0f} s")
    if given.json:
        ratios = ({"ratio": round(one.ratio, 3), "cpu_ratio": one.cpu_ratio and round(one.cpu_ratio, 3)} for one in found)
        print(json.dumps({"figures": [asdict(one) | more for one, more in zip(found, ratios, strict=True)],
                          "memory": [asdict(one) | {"ratio": round(one.ratio, 3)} for one in peaks],
                          "peak_rss_mb": peak_mb()}, indent=1))
        return
    print(*table(found), *(one.line for one in peaks), sep="\n")
    print(f"Medians of n runs. Peak memory {peak_mb():.0f} MB.")
    if given.orders:
        print("The shop grew by copies of one full order, without journal entries of their own.")
    if given.database:
        print("The database server's own processor time is not counted.")


def _measured(given: argparse.Namespace, folder: Path) -> Iterator[Figure]:
    with told_shop(folder, driver(given.database) if given.database else "") as told:
        gc.collect()
        gc.freeze()  # as the server does: what is loaded is no garbage
        if given.orders:
            yield from sizes.figures(told, given.orders)
            return
        yield from shop.figures(told)
    yield from start.figures(folder)
    yield from sums.figures()


def peak_mb() -> float:
    """The most memory this process has held, in MB."""
    import resource

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1e6 if sys.platform == "darwin" else 1e3)
