"""Any ledger that a strip-down could leave: its way back is valid, safe, and says nothing twice."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.reassembly.planner import CircularSteps, Removal, Step, check, plan, steps_for

OTHERS = ["part", "panel", "control", "jack", "jack_isolated", "screw", "bolt", "valve_base", "wire", "cover"]
FATES = ["refit", "refit", "refit", "replace", "scrap", "return_to_customer", "hold"]


@st.composite
def ledger(draw: st.DrawFn) -> list[Removal]:
    """Things in the order they came off: each under earlier ones, fixed or soldered to later ones."""
    count = draw(st.integers(1, 12))
    names = [f"r{number}" for number in range(count)]
    # Earths lie deepest, so that no conductor that must wait for them lies under one.
    earths = draw(st.integers(0, min(2, count)))
    rows = []
    for index, name in enumerate(names):
        earth = index >= count - earths
        kind = "protective_earth" if earth else draw(st.sampled_from([*OTHERS, "mains_lead"]))
        earlier, later = names[:index], names[index + 1 : count - earths]
        solder = kind in ("wire", "mains_lead") and later
        rows.append(
            Removal(
                name,
                kind=kind,
                seq=index,
                side=draw(st.sampled_from(["inside", "outside", None])),
                unit=draw(st.sampled_from([None, "box", "case"])),
                under=tuple(draw(st.lists(st.sampled_from(earlier), max_size=2))) if earlier and not earth else (),
                on=draw(st.sampled_from([None, *later])),
                ends=tuple(draw(st.lists(st.sampled_from("123"), max_size=2))) if solder else (),
                fate=draw(st.sampled_from(FATES)),
            )
        )
    return rows


def all_before(steps: tuple[Step, ...]) -> dict[str, set[str]]:
    """For each step everything that must come before it."""
    found: dict[str, set[str]] = {}
    for step in plan(steps).steps:
        found[step.id] = set(step.after).union(*(found[need] for need in step.after))
    return found


def own(name: str, steps: tuple[Step, ...]) -> set[str]:
    """Steps of one removal."""
    marks = {name, f"IN_{name}", f"BODY_{name}", f"NUT_{name}", f"TIGHT_{name}", f"B{name}", f"N{name}"}
    return marks & {step.id for step in steps}


@given(ledger())
@settings(deadline=None)
def test_the_way_back_of_any_ledger(rows: list[Removal]) -> None:
    try:
        steps = steps_for(rows)
    except CircularSteps as circle:
        # The ledger itself puts a thing under what must be done first; all that is asked is that it be named.
        assert len(circle.members) > 1
        # No count closes a circle of its own: without its covers the ledger has one, too.
        with pytest.raises(CircularSteps):
            steps_for([replace(each, kind="part") if each.kind == "cover" else each for each in rows])
        return
    assert check(plan(steps).steps, steps) == ()
    before = all_before(steps)
    for step in steps:
        for need in step.after:
            assert not any(need in before[other] for other in step.after if other != need), "said twice"
    back = {each.id: each for each in rows if each.goes_back}
    for each in rows:
        mine = own(each.id, steps)
        assert bool(mine) is (each.id in back)
        for above in each.under:
            if mine and above in back:
                assert any(mine & before[over] for over in own(above, steps))
        if each.kind == "cover" and mine:
            counted = {name for name in before[each.id] if name.startswith(("CT", "V"))}
            seen = counted.union(*(before[name] for name in counted))
            assert counted and {name for name in before[each.id] if not name.startswith("HOLD")} <= seen
        if each.kind == "mains_lead" and mine:
            assert all("PE" in before[name] for name in mine)
    earths = [each.id for each in back.values() if each.kind == "protective_earth"]
    assert all(name in before["PE"] for name in earths)
    if steps:
        last = [step for step in steps if not any(step.id in before[other.id] for other in steps)]
        assert len(last) == 1 and last[0].proof
