"""Whole strip-downs played through the planner: every must kept by an edge, no free pair tied, every never refused.

The cases are invented; their musts, nevers and free pairs were derived by hand from the ten rules of the way back, not from what
the planner does. The rules are common practice, no source, save where a row of a case names one.
"""

from __future__ import annotations

import json
from collections import defaultdict
from pathlib import Path
from typing import Any

import pytest

from app.reassembly import planner
from tests.reassembly import golden
from tests.reassembly.judge import judge, whole

FOLDER = Path(__file__).parent / "golden_cases"
CASES = sorted(path.stem for path in FOLDER.glob("*.json"))


def case_of(name: str) -> dict[str, Any]:
    return json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))  # type: ignore[no-any-return]


def test_there_are_heads_combos_a_rack_unit_and_a_printed_board() -> None:
    assert CASES == ["combo_fixings_apart", "printed_board_combo", "public_address_head", "rack_unit", "single_ended_combo",
                     "two_el34_head"]


@pytest.mark.parametrize("name", CASES)
def test_every_must_is_kept_by_an_edge_and_nothing_else_is_wrong(name: str) -> None:
    case = case_of(name)
    order = golden.play(case)
    verdict = judge(case, order)
    assert verdict.faults == []
    assert verdict.kept == len(case["must"]) > 190
    assert order["conflicts"] == []


@pytest.mark.parametrize("name", CASES)
def test_the_command_writes_what_is_judged(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written = tmp_path / "order.json"
    assert golden.main([str(FOLDER / f"{name}.json"), str(written)]) == 0
    assert "0 contradictions" in capsys.readouterr().out
    order = json.loads(written.read_text(encoding="utf-8"))
    assert judge(case_of(name), order).faults == []
    assert {step["step"] for step in order["steps"]} == order["graph"].keys()


def test_the_command_wants_two_names(capsys: pytest.CaptureFixture[str]) -> None:
    assert golden.main(["case.json"]) == 2
    assert "case.json order.json" in capsys.readouterr().err


@pytest.mark.parametrize("name", CASES)
def test_the_planner_reads_no_answer(name: str) -> None:
    case = case_of(name)
    bare = {key: case[key] for key in ("removals", "new", "joints", "proofs", "counts")}
    assert golden.play(bare) == golden.play(case)


@pytest.mark.parametrize("name", CASES)
def test_a_case_contradicts_itself_nowhere(name: str) -> None:
    """Every event of a must exists, and no free pair is ordered by the musts and the acts of each thing."""
    case = case_of(name)
    known, then = whole(case), defaultdict(set)
    for must in case["must"]:
        assert {tuple(must["first"]), tuple(must["then"])} <= known, must
        then[tuple(must["first"])].add(tuple(must["then"]))
    for row in [*case["removals"], *case["new"]]:
        for act, after in zip(row["acts"], row["acts"][1:], strict=False):
            then[row["id"], act].add((row["id"], after))
    for free in case["free"]:
        one, other = (tuple(event) for event in free["pair"])
        assert other not in reach(then, one) and one not in reach(then, other), free


def reach(then: dict[Any, set[Any]], start: Any) -> set[Any]:
    found, heap = set(), [start]
    while heap:
        fresh = then[heap.pop()] - found
        found |= fresh
        heap += fresh
    return found


# The judge itself


def backwards(case: dict[str, Any]) -> dict[str, Any]:
    """The strip-down read backwards, new parts last, nothing measured or counted."""
    steps, joined = [], set()
    for row in [*sorted(case["removals"], key=lambda each: -each["seq"]), *case["new"]]:
        does = [[row["id"], act] for act in row["acts"]]
        for end in row["ends"]:
            does.append([f"{row['id']}>{end['at']}", "in"])
            if end["at"] in case["joints"] and end["at"] not in joined:
                joined.add(end["at"])
                does.append([end["at"], "join"])
        steps.append({"step": row["id"], "does": does})
    return {"steps": steps, "graph": {step["step"]: [] for step in steps} | {row["id"]: [] for row in case["proofs"]}}


@pytest.mark.parametrize("name", CASES)
def test_a_strip_down_read_backwards_gives_every_never(name: str) -> None:
    case = case_of(name)
    order = backwards(case)
    done = {tuple(event) for step in order["steps"] for event in step["does"]}
    case["free"] = []
    verdict = judge(case, order)
    assert len(verdict.never) == len([each for each in case["never"] if tuple(each.get("early", each.get("done"))) in done])
    assert verdict.never and verdict.broken and verdict.absent


@pytest.mark.parametrize("name", CASES)
def test_an_order_that_is_only_right_by_luck_is_not_praised(name: str) -> None:
    case = case_of(name)
    order = golden.play(case)
    order["graph"] = {step: [] for step in order["graph"]}
    verdict = judge(case, order)
    assert not verdict.broken and not verdict.tied and len(verdict.luck) == len(case["must"]) - verdict.kept > 150


@pytest.mark.parametrize("name", CASES)
def test_a_graph_that_ties_every_step_ties_every_free_pair(name: str) -> None:
    case = case_of(name)
    order = golden.play(case)
    names = [step["step"] for step in order["steps"]]
    order["graph"] = {step: [before] if before else [] for before, step in zip([None, *names], names, strict=False)}
    assert len(judge(case, order).tied) == len(case["free"])


@pytest.mark.parametrize("right", [True, False])
def test_the_orders_made_by_hand_are_told_apart(right: bool) -> None:
    case = case_of("two_el34_head")
    case["free"] = []
    for given in [each for each in case["orders"] if each["right"] is right]:
        steps, seen = [], set()
        for step in given["steps"]:  # an end that is laid in first and joined later is named at both steps
            steps.append({**step, "does": [event for event in step["does"] if tuple(event) not in seen]})
            seen |= {tuple(event) for event in step["does"]}
        verdict = judge(case, {"steps": steps, "graph": {step["step"]: [] for step in steps}})
        assert (not verdict.broken and not verdict.never and not verdict.absent and not verdict.miscounted) is right, given["name"]


@pytest.mark.parametrize("name", CASES)
def test_the_order_turns_the_chassis_over_less_than_a_hand_would(name: str) -> None:
    """The order that was made by hand for the head turns it over 33 times; none of ours needs half of that."""
    assert golden.play(case_of(name))["turn_overs"] <= 14


def test_every_edge_says_why() -> None:
    back = planner.way_back_of(golden.job_of(case_of("two_el34_head")))
    for step in back.steps:
        assert set(step.after) <= {reason.before for reason in step.reasons}
        for reason in step.reasons:
            assert reason.rule in planner.RULES and 1 <= reason.number <= 10
            assert " waits for " in reason.words and reason.words.endswith(".")
    fit = next(step for step in back.steps if step.id == "V4.fit")
    words = {reason.before: reason.words for reason in fit.reasons}
    assert words["M5"].startswith("EL34, left V4 waits for “bias at pin 5 of XV4 and of XV5”: no output valve before")
    assert {"M6", "M7", "XV4.tight"} <= words.keys()
    assert next(reason.records for reason in fit.reasons if reason.before == "XV4.tight") == ("V4", "XV4")


def test_the_amp_is_discharged_again_before_every_hand_in_it() -> None:
    made = planner.plan(planner.steps_for(golden.job_of(case_of("two_el34_head"))))
    states = planner.power_states(made.steps)
    assert states["M4"] is states["M6"] is planner.Power.LIVE
    live = False
    for step in made.steps:
        assert states[step.id] is not planner.Power.OFF or not live
        live = states[step.id] is planner.Power.LIVE
    assert planner.Power.DISCHARGE_FIRST in {states["FU2.fit"], states["V4.fit"], states["V5.fit"]}
    assert states[made.steps[0].id] is planner.Power.OFF
