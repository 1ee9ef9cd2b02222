"""Keep a seeded random sample of a cosmic-ray session's mutants and skip the rest: SESSION COUNT [SEED].

A mutant of a type annotation changes nothing that runs, so none is drawn. After the run, the same words again
say how many of the sample were killed, with Wilson's 95 % interval.
"""

from __future__ import annotations

import ast
import random
import sys
from functools import cache
from pathlib import Path

from cosmic_ray.work_db import WorkDB, use_db
from cosmic_ray.work_item import MutationSpec, WorkerOutcome, WorkResult

from app.estimating import wilson

Place = tuple[int, int]


@cache
def annotations(module: Path) -> tuple[tuple[Place, Place], ...]:
    """Where the annotations of a module begin and end, as (line, column)."""
    nodes = ast.walk(ast.parse(module.read_text("utf-8")))
    held = (getattr(node, name, None) for node in nodes for name in ("annotation", "returns"))
    return tuple(
        ((words.lineno, words.col_offset), (words.end_lineno or 0, words.end_col_offset or 0))
        for words in held
        if isinstance(words, ast.expr)
    )


def runs(mutation: MutationSpec) -> bool:
    """Whether a mutant is of something that runs."""
    held = annotations(mutation.module_path)
    return not any(begin <= mutation.start_pos and mutation.end_pos <= end for begin, end in held)


def draw(session: WorkDB, count: int, seed: int) -> None:
    """Skip every mutant outside the sample."""
    # The session names its mutants at random; their places in the source are the same every time.
    items = sorted(session.work_items, key=lambda item: repr(item.mutations))
    drawn: set[str] = set()
    for item in random.Random(seed).sample(items, len(items)):
        if len(drawn) < count and all(map(runs, item.mutations)):
            drawn.add(item.job_id)
    rest = [item.job_id for item in items if item.job_id not in drawn]
    session.set_multiple_results(rest, WorkResult(worker_outcome=WorkerOutcome.SKIPPED))


def figure(session: WorkDB) -> str:
    """Killed of all that ran, and each mutant that lived."""
    ran = {name: result for name, result in session.results if result.worker_outcome != WorkerOutcome.SKIPPED}
    lived = {name for name, result in ran.items() if not result.is_killed}
    low, high = wilson(len(ran) - len(lived), len(ran))
    lines = [f"{len(ran) - len(lived)} of {len(ran)} killed, 95 % from {low:.0%} to {high:.0%}"]
    lines += [
        f"lived: {each.module_path}:{each.start_pos[0]} {each.operator_name}"
        for item in session.work_items
        if item.job_id in lived
        for each in item.mutations
    ]
    return "\n".join(lines)


def main(name: str, count: str, seed: str = "1") -> None:
    with use_db(name, WorkDB.Mode.open) as session:
        if session.num_results:
            print(figure(session))
        else:
            draw(session, int(count), int(seed))


if __name__ == "__main__":
    main(*sys.argv[1:])
