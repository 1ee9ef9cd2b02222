"""Front panel, mains transformer, octal base: what they come to, and what must be refused.

Figures: computed by a separate program; rules: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache

import pytest

from app.reassembly.planner import Removal, Row, balance, check, from_graph, gaps, plan, removed_pieces, stack_faults, steps_for

from .way_back_cases import (
    BASE_GRAPH,
    CONTROLS,
    TRANSFORMER_GRAPH,
    control,
    front_panel,
    octal_base,
    panel_graph,
    transformer,
)

PANEL_GRAPH = panel_graph(CONTROLS, ("E1", "E2"), ("J1", "J2"))
CASES = {
    "panel": (front_panel(), PANEL_GRAPH, 78, 103, 8),
    "transformer": (transformer(), TRANSFORMER_GRAPH, 26, 36, 10),
    "base": (octal_base(), BASE_GRAPH, 24, 38, 8),
}


def orders(graph: Mapping[str, set[str]]) -> int:
    """How many valid orders there are, by adding up over every set that may be done."""
    names = list(graph)
    needs = [sum(1 << names.index(need) for need in graph[name]) for name in names]

    @cache
    def ways(done: int) -> int:
        free = [i for i, need in enumerate(needs) if not done >> i & 1 and need & ~done == 0]
        return sum(ways(done | 1 << i) for i in free) if free else 1

    return ways(0)


@pytest.mark.parametrize("case", CASES)
def test_the_ledger_becomes_the_graph(case: str) -> None:
    removals, graph, tasks, edges, depth = CASES[case]
    steps = steps_for(removals)
    assert {step.id: set(step.after) for step in steps} == graph
    assert (len(steps), sum(len(step.after) for step in steps)) == (tasks, edges)
    assert len(plan(steps).critical_path) == depth


@pytest.mark.parametrize("case", CASES)
def test_the_planned_order_is_valid_with_one_turn_over_at_most(case: str) -> None:
    steps = steps_for(CASES[case][0])
    made = plan(steps)
    assert check(made.steps, steps) == ()
    assert made.changes.sides == (0 if case == "base" else 1)


@pytest.mark.parametrize(
    ("names", "screws", "isolated", "count"),
    [(("P1", "P2", "J1"), ("E1",), (), 60_971_400), (("P1", "J1", "J2"), ("E1",), ("J1", "J2"), 40_647_600)],
)
def test_small_panels_have_the_known_number_of_orders(
    names: tuple[str, ...], screws: tuple[str, ...], isolated: tuple[str, ...], count: int
) -> None:
    steps = steps_for(front_panel(names, screws, isolated))
    assert len(steps) == 21
    assert orders({step.id: set(step.after) for step in steps}) == count


@pytest.mark.parametrize(("case", "count"), [("transformer", 150_885_504_000), ("base", 157_385_527_200)])
def test_transformer_and_base_have_the_known_number_of_orders(case: str, count: int) -> None:
    assert orders({step.id: set(step.after) for step in steps_for(CASES[case][0])}) == count


VALID = {
    "panel": [
        " ".join(
            [*(f"IN_{n}" for n in CONTROLS), *(f"BODY_{n}" for n in CONTROLS), "FAS"]
            + [f"{what}_{n}" for n in CONTROLS for what in ("OVER", "NUT")]
            + ["E1", "E2", "ALIGN", *(f"TIGHT_{n}" for n in CONTROLS), "ISO"]
            + [f"KNOB_P{n}" for n in range(1, 8)]
            + ["CT"]
        ),
        " ".join(
            [*(f"IN_{n}" for n in CONTROLS), "FAS", "E2"]
            + [f"{what}_{n}" for n in reversed(CONTROLS) for what in ("BODY", "OVER", "NUT")]
            + ["E1", "ALIGN", *(f"TIGHT_{n}" for n in CONTROLS)]
            + [f"KNOB_P{n}" for n in range(1, 8)]
            + ["ISO", "CT"]
        ),
    ],
    "transformer": [
        "G1 G2 CL T BA BB BC BD NA NB ND EC X LK PE W1 W2 W3 W4 W5 W6 W7 W8 W9 IR CT",
        "CL G2 G1 T BC EC BA NA BD ND BB NB X W5 W6 W7 LK PE W3 W4 W8 W9 W2 W1 IR CT",
    ],
    "base": ["SK RT F1 F2 TG H1 H2 J2 J7 L1 J1 S1 R1 J4 J6 R2 J5 A1 D1 J3 K1 J8 JT V"],
}


@pytest.mark.parametrize(("case", "number"), [(case, n) for case, rows in VALID.items() for n in range(len(rows))])
def test_a_right_order_has_no_fault(case: str, number: int) -> None:
    assert check(VALID[case][number].split(), steps_for(CASES[case][0])) == ()


def before(sequence: list[str], step: str, other: str) -> list[str]:
    """The sequence with `step` moved to just before `other`."""
    rest = [name for name in sequence if name != step]
    rest.insert(rest.index(other), step)
    return rest


@pytest.mark.parametrize(
    ("case", "step", "other", "lacks"),
    [
        ("panel", "OVER_J1", "FAS", "FAS"),
        ("panel", "TIGHT_S2", "ALIGN", "ALIGN"),
        ("panel", "KNOB_P2", "TIGHT_P2", "TIGHT_P2"),
        ("transformer", "W1", "PE", "PE"),
        ("transformer", "EC", "CL", "CL"),
        ("transformer", "T", "G2", "G2"),
        ("base", "H1", "TG", "TG"),
        ("base", "J6", "R1", "R1"),
    ],
)
def test_a_step_too_early_names_what_it_lacks(case: str, step: str, other: str, lacks: str) -> None:
    faults = check(before(VALID[case][0].split(), step, other), steps_for(CASES[case][0]))
    assert (step, lacks) in {(fault.step, fault.lacks) for fault in faults if fault.kind == "too_early"}


def test_a_corner_left_out_is_missed_by_what_needs_it_and_by_itself() -> None:
    sequence = [name for name in VALID["transformer"][0].split() if name != "ND"]
    faults = check(sequence, steps_for(transformer()))
    assert {(fault.kind, fault.step, fault.lacks) for fault in faults} == {
        ("too_early", "X", "ND"),
        ("left_out", "ND", None),
    }
    assert [str(fault) for fault in faults][-1] == "ND is never done."


def test_a_jack_without_its_fibre_washer_is_a_fault() -> None:
    found = control("J1").stack
    assert stack_faults(found, [piece for piece in found if piece != "fibre washer"]) == ("without fibre washer",)
    assert stack_faults(found, found) == ()
    assert stack_faults(found, found[::-1]) == ("pieces in another order",)


@pytest.mark.parametrize(("case", "pieces"), [("panel", 55), ("transformer", 24), ("base", 21)])
def test_the_pieces_that_came_off_are_counted(case: str, pieces: int) -> None:
    """The transformer's 22 and its two grommets; the base's 8 and its 13 wire ends."""
    assert removed_pieces(CASES[case][0]).pieces == pieces


@pytest.mark.parametrize(("case", "name"), [("panel", "flat washer"), ("base", "wire end")])
def test_a_count_with_one_missing_does_not_close(case: str, name: str) -> None:
    rows = dict(removed_pieces(CASES[case][0]).rows)
    full = {each: Row(row.removed, refitted=row.removed) for each, row in rows.items()}
    assert balance(full).closed
    short = full | {name: Row(rows[name].removed, refitted=rows[name].removed - 1)}
    assert balance(short).short == {name: 1}


def test_a_keyway_that_was_not_recorded_is_a_gap() -> None:
    base = Removal("SK", kind="valve_base", keyed=True)
    assert [gap.reason for gap in gaps([base])] == ["keyway, polarity or tab not recorded"]
    assert gaps([replace(base, orientation="  ")]) == gaps([base])
    assert gaps(octal_base()) == ()


def test_the_graphs_as_given_can_be_planned_without_a_ledger() -> None:
    for graph in (TRANSFORMER_GRAPH, BASE_GRAPH, PANEL_GRAPH):
        steps = from_graph(graph)
        assert check(plan(steps).ids, steps) == ()
