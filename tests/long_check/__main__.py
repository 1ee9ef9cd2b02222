"""`./tagstrip check`: kills, clients, flipped bits, with a table at the end. Ends with 1 if anything is as it must not be.

Short, some two minutes; `--long`, up to half an hour: 1,000 kills, 50 clients on either engine, 1,000 flipped bits.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from tests.faults import bit_flips
from tests.long_check import clients, kills
from tests.long_check.shops import databases, folder, small


@dataclass(frozen=True)
class Size:
    """How much of each."""

    kills: int
    clients: int
    seconds: float
    flips: int


SHORT, LONG = Size(kills=30, clients=10, seconds=10, flips=40), Size(kills=1000, clients=50, seconds=120, flips=1000)
WRONG = ("lost", "double", "named by verify", "errors (500 and above)", "no answer", "silent", "traceback")
LANES = 2


def main(size: Size) -> int:
    """Run all three, on both engines where it matters; 1 if anything is wrong."""
    told = [*_of_engines(size), ("flipped bits", "SQLite", *_timed(lambda: _flips(size.flips)))]
    print(f"\n{'what':<14}{'engine':<12}{'minutes':>8}  figures")
    for what, engine, took, figures in told:
        print(f"{what:<14}{engine:<12}{took / 60:8.1f}  " + ", ".join(f"{name}: {value}" for name, value in figures.items()))
    wrong = [f"{what}, {engine}: {name} {figures[name]}" for what, engine, _, figures in told
             for name in WRONG if figures.get(name)]
    print("\n" + ("\n".join(["This must not be:", *wrong]) if wrong else "Nothing was lost, double, silent or without an answer."))
    return 1 if wrong else 0


def _of_engines(size: Size) -> list[tuple[str, str, float, Mapping[str, int | float]]]:
    told: list[tuple[str, str, float, Mapping[str, int | float]]] = []
    with folder() as place, databases(place) as found:
        for engine, url in found.items():
            data = place / engine
            data.mkdir()
            shop = small(data, url, people=size.clients, orders=5)
            each = size.kills // len(found)
            print(f"{engine}: {each} kills", file=sys.stderr)
            told.append(("kills", engine, *_timed(partial(kills.run, shop, each))))
            print(f"{engine}: {size.clients} clients for {size.seconds:.0f} s", file=sys.stderr)
            told.append(("clients", engine, *_timed(partial(clients.run, shop, size.seconds))))
    return told


def _timed(act: Callable[[], Mapping[str, int | float]]) -> tuple[float, Mapping[str, int | float]]:
    began = time.monotonic()
    figures = act()
    return time.monotonic() - began, figures


def _flips(number: int) -> Mapping[str, int | float]:
    print(f"SQLite: {number} flipped bits", file=sys.stderr)
    with folder() as place:
        small(place, f"sqlite:///{place / 'tagstrip.db'}", people=2, orders=5)
        with ProcessPoolExecutor(LANES) as lanes:
            found = [*lanes.map(_lane, [place] * LANES, [number // LANES] * LANES, range(LANES))]
    return {name: sum(one.get(name, 0) for one in found) for name in ("named", "no content", "silent", "traceback")}


def _lane(place: Path, number: int, seed: int) -> dict[str, int]:
    return dict(bit_flips.told(place, number, seed, lambda said: print(said, file=sys.stderr)))


if __name__ == "__main__":
    words = argparse.ArgumentParser(prog="tagstrip check", description=__doc__)
    words.add_argument("--long", action="store_true", help="1,000 kills, 50 clients on either engine, 1,000 bits: half an hour")
    sys.exit(main(LONG if words.parse_args().long else SHORT))
