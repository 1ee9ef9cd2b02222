"""`bench`: what this machine needs for the program's heavy parts, each as a ratio to something plain timed in the same run.

A ratio hardly depends on the machine, so that two versions can be compared across machines; the milliseconds are for the user.
Everything happens in a folder that is made for it and removed.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from dataclasses import asdict
from pathlib import Path

from app.commands.benchmarks import shop, start, sums


def bench(given: argparse.Namespace) -> None:
    """Measure, and print a table or JSON."""
    with tempfile.TemporaryDirectory(prefix="tagstrip-bench-") as folder:
        found = [*start.figures(), *shop.figures(Path(folder)), *sums.figures()]
    if given.json:
        print(json.dumps({"figures": [asdict(one) | {"ratio": round(one.ratio, 3)} for one in found],
                          "peak_rss_mb": peak_mb()}, indent=1))
        return
    print(f"{'what':<36} {'ms':>9} {'beside':<42} {'ms':>9} {'ratio':>8} {'n':>4}")
    for one in found:
        print(f"{one.what:<36} {one.ms:>9.2f} {one.beside:<42} {one.beside_ms:>9.2f} {one.ratio:>8.2f} {one.n:>4}")
    print(f"Medians. Peak memory {peak_mb():.0f} MB.")


def peak_mb() -> float:
    """The most memory this process has held, in MB."""
    import resource

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1e6 if sys.platform == "darwin" else 1e3)
