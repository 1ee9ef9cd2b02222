"""Play a strip-down in the neutral form through the planner, and write the order with its graph.

    python -m tests.reassembly.golden case.json order.json

Of the case only what a bench would know is read: what came off, what is new, which joints lie hidden, what is to be measured and
counted. The rules that any right order keeps ("must", "never", "free", "orders") are not.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from app.reassembly import planner
from app.reassembly.planner import cavities
from app.reassembly.planner.model import Model
from app.reassembly.planner.things import JOINS

Case = Mapping[str, Any]


def things_of(case: Case) -> list[planner.Thing]:
    """What came off, in its order, then what never did."""
    listed = [*case["removals"], *case.get("new", ())]
    return [_thing(row, number, case.get("joints")) for number, row in enumerate(listed, 1)]


def _thing(row: Mapping[str, Any], number: int, joints: Mapping[str, Any] | None) -> planner.Thing:
    acts = row.get("acts")
    return planner.Thing(
        row["id"], row.get("name") or "", row.get("kind") or "part", None if acts is None else tuple(acts),
        row.get("seq") or number, row.get("side"), row.get("place"), row.get("sub_assembly"), tuple(row.get("was_under") or ()),
        row.get("fixed_to"),
        tuple(planner.Stack(tuple(stack["outer_to_inner"]), stack.get("times", 1)) for stack in row.get("stacks") or ()),
        tuple(_end(end, joints) for end in row.get("ends") or ()), row.get("fate") or "refit")


def _end(end: Mapping[str, Any], joints: Mapping[str, Any] | None) -> planner.End:
    host, _, pin = end["at"].rpartition(":")
    joint = (joints or {}).get(end["at"])
    how = JOINS.get(end.get("lifted") or "desoldered", "soldered")
    if joints is not None and joint is None:
        how = "clamped"  # no joint is made there: the end is held by the tightening of its host
    elif joint is not None and how == "clamped":
        how = JOINS.get(joint.get("how", ""), "soldered") if JOINS.get(joint.get("how", "")) != "clamped" else "plugged"
    hidden = joint["hidden"] if joint is not None and "hidden" in joint else None
    return planner.End(host, pin, how, hidden, end.get("colour") or "")


def job_of(case: Case) -> planner.Job:
    """The case as a job."""
    proofs = tuple(
        planner.Proof(row["id"], row.get("what") or "", row.get("condition") or "", row.get("quantity") or "",
                      row.get("unit") or "", row.get("limit") or "none", row.get("value"),
                      tuple((a, b) for a, b in row.get("after") or ()), tuple((a, b) for a, b in row.get("before") or ()))
        for row in case.get("proofs") or ())
    counts = tuple(planner.Cavity(row["id"], row.get("words") or "", tuple(row.get("covers") or ()),
                                  tuple((a, b) for a, b in row.get("closes") or ())) for row in case.get("counts") or ())
    return planner.Job(tuple(things_of(case)), proofs, counts)


def events_of(origins: Mapping[str, tuple[str, str]]) -> dict[str, list[list[str]]]:
    """Step id → the events that it does, as the neutral form names them."""
    found: dict[str, list[list[str]]] = {}
    for step, (what, owner) in origins.items():
        if what.startswith("in "):
            found[step] = [[f"{owner}>{what[3:]}", "in"]]
        elif what.startswith("J"):
            found[step] = [[f"{owner}:{what[1:]}" if owner else what[1:], "join"]]
        elif what in ("prove", "count", "prep", "fit", "snug", "tight", "trim", "over"):
            found[step] = [[owner, what]]
        else:
            found[step] = []
    return found


def play(case: Case) -> dict[str, Any]:
    """The planned order in the checker's form, with what each step waits for, and why."""
    job = job_of(case)
    back = planner.way_back_of(job)
    made = planner.plan(back.steps)
    does = events_of(back.origins)
    model = Model(job)
    figures = {cavity.id: cavities.pieces_within(model, cavity) for cavity in job.cavities if cavity.covers}
    steps = []
    for step in made.steps:
        row: dict[str, Any] = {"step": step.id, "does": does[step.id]}
        if step.id in figures:
            row["counted"] = figures[step.id]
        steps.append(row)
    return {"steps": steps, "graph": {step.id: list(step.after) for step in back.steps},
            "why": {step.id: [reason.words for reason in step.reasons] for step in back.steps},
            "conflicts": [str(conflict) for conflict in back.conflicts], "turn_overs": made.changes.sides}


def main(argv: list[str]) -> int:
    """Read the case, write the order."""
    if len(argv) != 2:
        print("python -m tests.reassembly.golden case.json order.json", file=sys.stderr)
        return 2
    order = play(json.loads(Path(argv[0]).read_text(encoding="utf-8")))
    Path(argv[1]).write_text(json.dumps(order, indent=1, ensure_ascii=False), encoding="utf-8")
    print(f"{len(order['steps'])} steps, {order['turn_overs']} turn-overs, {len(order['conflicts'])} contradictions")
    return 1 if order["conflicts"] else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
