"""Any set of steps: the planner against a checker and an optimum that try everything."""

from __future__ import annotations

import random
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.reassembly.planner import BadStep, Changes, CircularSteps, DoubleStep, Step, UnknownStep, changes, check, from_graph, plan

NAMES = "abcdefgh"


@st.composite
def any_graph(draw: st.DrawFn) -> dict[str, list[str]]:
    """Up to eight steps with needs drawn freely: about half of these have a circle."""
    names = NAMES[: draw(st.integers(1, 8))]
    return {name: draw(st.lists(st.sampled_from(names), max_size=2, unique=True)) for name in names}


@st.composite
def job(draw: st.DrawFn, most: int = 6) -> list[Step]:
    """A set of steps without a circle, with units, sides and places."""
    names = NAMES[: draw(st.integers(1, most))]
    steps = [
        Step(
            name,
            after=tuple(draw(st.lists(st.sampled_from(names[:index]), max_size=2)) if index else ()),
            unit=draw(st.sampled_from([None, None, "u", "v"])),
            side=draw(st.sampled_from([None, "outside", "inside", "top"])),
            place=draw(st.sampled_from([None, "p", "q"])),
            minutes=draw(st.integers(0, 9)),
            unattended_minutes=draw(st.sampled_from([0, 0, 60])),
        )
        for index, name in enumerate(names)
    ]
    return draw(st.permutations(steps))


def valid(order: tuple[str, ...], graph: dict[str, list[str]]) -> bool:
    return all(
        order.index(need) < order.index(name) for name in order for need in graph[name]
    ) and sorted(order) == sorted(graph)


def cheapest(steps: list[Step]) -> Changes:
    """The fewest changes over every valid order."""
    graph = {step.id: list(step.after) for step in steps}
    every = permutations(steps)
    return min(changes(order) for order in every if valid(tuple(step.id for step in order), graph))


@settings(deadline=None)
@given(any_graph())
def test_a_plan_is_valid_and_a_circle_is_named_in_order(graph: dict[str, list[str]]) -> None:
    possible = any(valid(order, graph) for order in permutations(graph)) if len(graph) < 7 else None
    try:
        made = plan(from_graph(graph))
    except CircularSteps as circle:
        assert not possible
        ring = circle.members
        assert len(set(ring)) == len(ring)
        for first, then in zip(ring, (*ring[1:], ring[0]), strict=True):
            assert first in graph[then]
    else:
        assert possible in (True, None)
        assert valid(made.ids, graph)


@settings(deadline=None)
@given(any_graph(), st.lists(st.sampled_from(NAMES + "x"), max_size=9))
def test_check_says_what_a_plain_reading_says(graph: dict[str, list[str]], sequence: list[str]) -> None:
    try:
        plan(from_graph(graph))
    except CircularSteps as circle:
        with pytest.raises(CircularSteps) as same:
            check(sequence, from_graph(graph))
        assert same.value.members == circle.members
        return
    faults = check(sequence, from_graph(graph))
    first = {name: sequence.index(name) for name in graph if name in sequence}
    early = {
        (name, need)
        for name, position in first.items()
        for need in graph[name]
        if need not in first or first[need] >= position
    }
    assert {(fault.step, fault.lacks) for fault in faults if fault.kind == "too_early"} == early
    assert {fault.step for fault in faults if fault.kind == "left_out"} == set(graph) - set(sequence)
    again = sorted(name for position, name in enumerate(sequence) if first.get(name, position) < position)
    assert sorted(fault.step for fault in faults if fault.kind == "twice") == again
    strange = [name for name in sequence if name not in graph]
    assert [fault.step for fault in faults if fault.kind == "unknown"] == strange


@given(job())
@settings(max_examples=80, deadline=None)
def test_a_small_job_has_the_fewest_changes_there_can_be(steps: list[Step]) -> None:
    made = plan(steps)
    assert check(made.steps, steps) == ()
    assert made.changes == changes(made.steps) == cheapest(steps)


@settings(deadline=None)
@given(job(8), st.data())
def test_what_is_done_is_neither_planned_nor_waited_for(steps: list[Step], data: st.DataObject) -> None:
    done = data.draw(st.sets(st.sampled_from([step.id for step in steps])))
    made = plan(steps, done=done)
    assert set(made.ids) | done == {step.id for step in steps} and not set(made.ids) & done
    needs = {step.id: set(step.after) - done for step in steps if step.id not in done}
    assert set(made.ready) == {name for name, left in needs.items() if not left}
    assert {name: set(left) for name, left in made.waiting.items()} == {n: w for n, w in needs.items() if w}
    assert check(made.ids, steps, done=done) == ()


@settings(deadline=None)
@given(job(8))
def test_elapsed_time_lies_between_its_bounds(steps: list[Step]) -> None:
    made = plan(steps)
    by_name = {step.id: step for step in steps}
    chain = sum(by_name[name].minutes + by_name[name].unattended_minutes for name in made.critical_path)
    drying = sum(step.unattended_minutes for step in steps)
    assert made.minutes == sum(step.minutes for step in steps)
    assert max(chain, made.minutes) <= made.elapsed_minutes <= made.minutes + drying
    for first, then in zip(made.critical_path, made.critical_path[1:], strict=False):
        assert first in by_name[then].after


def test_glue_dries_while_other_work_is_done() -> None:
    steps = [
        Step("wires", minutes=30, side="inside"),
        Step("glue", minutes=10, unattended_minutes=60, side="inside"),
        Step("fit", minutes=10, after=("glue",), side="inside"),
    ]
    made = plan(steps)
    assert made.ids == ("glue", "wires", "fit")
    assert (made.minutes, made.elapsed_minutes) == (50, 80)
    assert made.critical_path == ("glue", "fit")


def test_a_unit_stays_together_though_it_costs_a_turn_over() -> None:
    steps = [
        Step("u1", unit="u", side="inside"),
        Step("u2", unit="u", side="outside", after=("u1",)),
        Step("u3", unit="u", side="inside", after=("u2",)),
        Step("o", side="outside"),
    ]
    made = plan(steps)
    units = [step.unit for step in made.steps]
    assert units in ([None, "u", "u", "u"], ["u", "u", "u", None])
    assert made.changes == Changes(unit_breaks=0, sides=3, places=0)


def test_a_unit_that_must_be_left_is_left_once() -> None:
    steps = from_graph({"u1": [], "x": ["u1"], "u2": ["x"]})
    made = plan([Step(s.id, after=s.after, unit="u" if s.id[0] == "u" else None) for s in steps])
    assert made.ids == ("u1", "x", "u2")
    assert made.changes.unit_breaks == 1


def test_bare_ids_and_a_mapping_do_for_steps() -> None:
    assert plan(["b", "a"]).ids == ("b", "a")
    assert plan({"b": ["a"], "a": []}).ids == ("a", "b")
    assert [str(fault) for fault in check([Step("b")], {"b": ["a"], "a": []})] == [
        "b comes too early: a is not done yet.",
        "a is never done.",
    ]


def test_nothing_to_do_is_a_plan() -> None:
    made = plan([])
    assert (made.steps, made.ready, made.waiting, made.elapsed_minutes, made.critical_path) == ((), (), {}, 0, ())


def test_what_cannot_be_planned_says_why() -> None:
    with pytest.raises(CircularSteps, match="a → c → b → a") as circle:
        plan(from_graph({"a": ["b"], "b": ["c"], "c": ["a"], "d": ["a"]}))
    assert circle.value.members == ("a", "c", "b")
    with pytest.raises(CircularSteps) as self_circle:
        plan([Step("a", after=("a",))])
    assert self_circle.value.members == ("a",)
    with pytest.raises(CircularSteps, match="a → b → a"):
        check(["a", "b"], from_graph({"a": ["b"], "b": ["a"]}))
    with pytest.raises(UnknownStep, match="b names 'z'"):
        plan(from_graph({"b": ["z"]}))
    with pytest.raises(UnknownStep, match="done names 'z'"):
        plan(from_graph({"b": []}), done=["z"])
    with pytest.raises(DoubleStep, match="'b'"):
        plan([Step("b"), Step("b")])
    for wrong in ({"minutes": -1}, {"unattended_minutes": float("nan")}, {"after": "abc"}):
        with pytest.raises(BadStep):
            Step("b", **wrong)  # type: ignore[arg-type]


def big_job(count: int, seed: int) -> list[Step]:
    """A job of many steps with four sides, twelve places, small units and some drying."""
    pick = random.Random(seed)
    steps = []
    for index in range(count):
        near = range(max(0, index - 60), index)
        needs = pick.sample(near, min(len(near), pick.choice([0, 1, 2, 3])))
        steps.append(
            Step(
                f"s{index}",
                after=tuple(f"s{need}" for need in needs),
                unit=f"u{index // 5}" if index % 3 else None,
                side=pick.choice(["outside", "inside", "top", "under"]),
                place=f"p{pick.randrange(12)}",
                minutes=pick.choice([1, 2, 5]),
                unattended_minutes=pick.choice([0] * 30 + [480]),
            )
        )
    pick.shuffle(steps)
    return steps


@pytest.mark.parametrize("shape", ["tangle", "chain", "flat"])
def test_five_thousand_steps_are_put_in_an_order_that_stands(shape: str) -> None:
    if shape == "tangle":
        steps = big_job(5000, 7)
    else:
        steps = [
            Step(f"s{n}", side=str(n % 2), place=f"p{n}", after=(f"s{n - 1}",) if shape == "chain" and n else ())
            for n in range(5000)
        ]
    assert check(plan(steps).steps, steps) == ()
