"""Rules of the way back that a strip-down worked backwards would miss (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.reassembly.planner import BadStep, CircularSteps, DoubleStep, Removal, Step, UnknownStep, check, plan, steps_for

from .way_back_cases import control, front_panel, octal_base, transformer


def needs(steps: tuple[Step, ...]) -> dict[str, set[str]]:
    return {step.id: set(step.after) for step in steps}


def earlier(steps: tuple[Step, ...], name: str) -> set[str]:
    """Everything that must be done before a step."""
    graph = needs(steps)
    found: set[str] = set()
    heap = list(graph[name])
    while heap:
        need = heap.pop()
        if need not in found:
            found.add(need)
            heap += graph[need]
    return found


def changed(removals: list[Removal], **fates: str) -> list[Removal]:
    return [replace(each, fate=fates.get(each.id, each.fate)) for each in removals]


def test_a_part_that_is_replaced_goes_back_as_the_old_one_did() -> None:
    old, new = (steps_for(changed(front_panel(), P3=fate)) for fate in ("refit", "replace"))
    assert needs(old) == needs(new)
    assert "the new" in next(step.label for step in new if step.id == "BODY_P3")


@pytest.mark.parametrize("fate", ["scrap", "return_to_customer", "return_to_stock"])
def test_what_does_not_go_back_has_no_step_and_holds_nothing_up(fate: str) -> None:
    steps = steps_for(changed(front_panel(), P3=fate, FAS=fate))
    graph = needs(steps)
    assert not [name for name in graph if name.endswith("_P3") or name == "FAS"]
    assert graph["OVER_P1"] == {"BODY_P1"}
    assert check(plan(steps).steps, steps) == ()


def test_order_holds_through_a_part_that_is_gone() -> None:
    stack = [
        Removal("lid", seq=1),
        Removal("plate", seq=2, under=("lid",), fate="scrap"),
        Removal("felt", seq=3, under=("plate",)),
    ]
    assert needs(steps_for(stack))["lid"] == {"felt"}


def test_a_part_on_hold_waits_for_its_fate() -> None:
    steps = steps_for(changed(octal_base(), R2="hold"))
    assert needs(steps)["R2"] == {"H1", "H2", "HOLD_R2"}


def test_a_stud_of_its_own_takes_the_earth_off_the_transformer() -> None:
    """The dedicated bonding stud: land, stud, proof; the corner becomes an ordinary one."""
    iron = [
        replace(each, kind="bolt", stack=each.stack[:4] + ("plain washer", "spring washer", "nut"))
        if each.id == "C"
        else each
        for each in transformer()
    ]
    graph = needs(steps_for([*iron, Removal("ES", kind="protective_earth", side="under")]))
    assert graph["ES"] == {"CL"}
    assert graph["PE"] == {"ES"}
    assert graph["NC"] == {"BC"}
    assert graph["W1"] == graph["W2"] == {"PE", "X"}


def test_the_earth_is_measured_before_mains_even_when_it_was_not_taken_off() -> None:
    lead = Removal("W1", kind="mains_lead", on="inlet")
    steps = steps_for([lead])
    assert needs(steps)["W1"] == {"PE"}
    assert next(step.proof for step in steps if step.id == "PE")
    assert "PE" not in needs(steps_for([lead], earthed=False))


def test_every_earth_comes_before_every_mains_lead_whatever_came_off_first() -> None:
    bench = [
        Removal("E2", kind="protective_earth", seq=1, on="inlet", ends=("pin",)),
        Removal("W1", kind="mains_lead", seq=2, on="inlet", ends=("L",)),
        Removal("E1", kind="protective_earth", seq=3),
        Removal("inlet", seq=4),
    ]
    steps = steps_for(bench)
    assert {"E1", "E2", "Jpin", "PE", "inlet"} <= earlier(steps, "W1")
    assert not {"W1", "JL"} & earlier(steps, "PE")


def test_nothing_is_soldered_before_its_base_is_tight() -> None:
    steps = steps_for(octal_base())
    for joint in (step.id for step in steps if step.id.startswith("J")):
        assert "TG" in earlier(steps, joint)


def test_a_joint_waits_for_the_ends_that_still_go_there() -> None:
    graph = needs(steps_for(changed(octal_base(), D1="scrap")))
    assert graph["J3"] == {"A1"}
    assert graph["JT"] == {"K1"}


def test_a_retainer_between_a_base_and_its_screws_goes_on_before_either_is_tight() -> None:
    bench = [
        replace(each, under=("RT",)) if each.id == "SK" else each for each in octal_base()
    ]
    graph = needs(steps_for(bench))
    assert graph["RT"] == {"SK"}
    assert graph["F1"] == graph["F2"] == {"RT"}
    assert graph["TG"] == {"F1", "F2"}


def test_an_earth_tag_under_a_screw_is_laid_before_it_and_soldered_after() -> None:
    bench = [
        replace(each, under=("F2",)) if each.id in ("K1", "D1") else replace(each, under=())
        if each.kind == "wire"
        else each
        for each in octal_base()
    ]
    graph = needs(steps_for(bench))
    assert graph["K1"] == graph["D1"] == {"SK"}
    assert {"K1", "D1"} <= graph["F2"]
    assert graph["JT"] == {"TG"}


def test_one_pot_under_another_is_in_before_it_and_both_are_aligned_together() -> None:
    bench = [Removal("P2", kind="control", seq=1), Removal("P1", kind="control", seq=2, under=("P2",))]
    graph = needs(steps_for(bench))
    assert graph["BODY_P2"] == {"NUT_P1"}
    assert graph["TIGHT_P1"] == graph["TIGHT_P2"] == {"ALIGN"}


def test_a_cover_goes_on_after_the_count_and_its_screws_are_counted() -> None:
    bench = [
        Removal("c1", kind="screw", on="cover"),
        Removal("cover", kind="cover", under=("c1",)),
        Removal("board", under=("cover",)),
    ]
    graph = needs(steps_for(bench))
    assert graph == {
        "CT": {"board"},
        "cover": {"CT"},
        "c1": {"cover"},
        "TG": {"c1"},
        "board": set(),
        "CT_final": {"TG"},
    }


def test_each_cover_has_a_count_before_it_and_what_lies_over_the_last_is_counted_last() -> None:
    bench = [
        Removal("badge", seq=1),
        Removal("lid", kind="cover", seq=2, under=("badge",)),
        Removal("inner", kind="cover", seq=3, under=("lid",)),
        Removal("board", seq=4, under=("inner",)),
    ]
    graph = needs(steps_for(bench))
    assert graph["inner"] == {"CT"} and graph["CT"] == {"board"}
    assert graph["lid"] == {"CT_lid"} and graph["CT_lid"] == {"inner"} and graph["CT_final"] == {"badge"}


def test_an_earth_bolt_without_a_lock_nut_is_tight_before_the_earth_is_measured() -> None:
    bench = [replace(each, stack=each.stack[:-1]) if each.id == "C" else each for each in transformer()]
    graph = needs(steps_for(bench))
    assert graph["PE"] == {"X"} and graph["X"] == {"EC", "NA", "NB", "ND"}


def test_an_earth_ring_under_a_screw_is_measured_when_the_screw_is_tight() -> None:
    plate = [Removal("s", kind="screw", on="plate"), Removal("plate", under=("s",)), Removal("W1", kind="mains_lead")]
    under = needs(steps_for([*plate, Removal("ring", kind="protective_earth", under=("s",))]))
    assert under["s"] == {"plate", "ring"} and under["PE"] == {"TG"} and under["W1"] == {"PE"}
    fixed = needs(steps_for([*plate, Removal("ring", kind="protective_earth", on="plate")]))
    assert fixed["PE"] == {"ring", "TG"}


def test_an_earth_under_a_lid_and_its_screw_is_measured_before_the_lid_is_on() -> None:
    bench = [
        Removal("c1", kind="screw", on="lid"),
        Removal("lid", kind="cover", under=("c1",)),
        Removal("W1", kind="mains_lead", under=("lid",)),
        Removal("ring", kind="protective_earth", under=("c1", "lid")),
    ]
    assert {"PE", "W1"} <= earlier(steps_for(bench), "lid")


def test_a_host_that_mains_leads_lie_under_is_not_waited_for_by_the_earth() -> None:
    bench = [
        Removal("inlet", seq=1),
        Removal("ring", kind="protective_earth", on="inlet", seq=2),
        Removal("W1", kind="mains_lead", under=("inlet",), seq=3),
    ]
    graph = needs(steps_for(bench))
    assert graph["W1"] == {"PE"} and graph["inlet"] == {"W1"}


def test_a_lead_that_ends_at_the_transformer_is_on_before_its_insulation_is_tested() -> None:
    """Whichever of its two ends the record calls its host."""
    bench = [
        Removal("W1", kind="mains_lead", on="switch", ends=("1", "T:2")),
        Removal("C1", on="strip", ends=("4", "T:2")),
        Removal("T", kind="mains_transformer"),
        Removal("switch"),
    ]
    assert {"W1", "C1", "J1", "J2"} <= earlier(steps_for(bench), "IR")


def test_isolation_is_measured_before_any_cover_over_an_isolated_jack() -> None:
    jacks = [Removal(f"J{unit}", kind="jack_isolated", on="FAS", unit=unit) for unit in ("in", "out")]
    covers = [Removal(f"C{unit}", kind="cover", unit=unit) for unit in ("in", "out")]
    steps = steps_for([*jacks, Removal("FAS", kind="panel", unit="in"), *covers])
    for cover in ("Cin", "Cout"):
        assert {"ISO", "TIGHT_Jin", "TIGHT_Jout"} <= earlier(steps, cover)


def test_a_cover_of_the_whole_amp_waits_for_every_count() -> None:
    bench = [Removal("lid", kind="cover"), Removal("board", unit="board"), Removal("choke", unit="iron")]
    graph = needs(steps_for(bench))
    assert {"CT_board", "CT_iron"} <= graph["lid"]


def test_a_cover_waits_for_the_count_of_a_unit_that_it_closes_in() -> None:
    bench = [Removal("lid", kind="cover", unit="case", seq=1), Removal("board", unit="board", under=("lid",), seq=2)]
    assert "CT_board" in earlier(steps_for(bench), "lid")


def test_what_went_in_between_two_covers_is_counted_and_tight_before_the_outer_one() -> None:
    bench = [
        Removal("lid", kind="cover", seq=1),
        Removal("plate", under=("lid",), seq=2),
        Removal("c1", kind="screw", on="inner", under=("lid",), seq=3),
        Removal("inner", kind="cover", under=("plate",), seq=4),
        Removal("board", under=("inner",), seq=5),
    ]
    graph = needs(steps_for(bench))
    assert graph["inner"] == {"CT"} and graph["CT"] == {"board"}
    assert graph["lid"] == {"CT_lid"} and graph["CT_lid"] == {"plate"} and graph["plate"] == {"TG"}


def test_a_unit_that_lies_over_a_cover_is_counted_when_it_is_on() -> None:
    bench = [
        Removal("badge", unit="trim", seq=1),
        Removal("lid", kind="cover", unit="case", under=("badge",), seq=2),
        Removal("board", unit="case", under=("lid",), seq=3),
    ]
    graph = needs(steps_for(bench))
    assert graph["CT"] == {"badge"} and graph["lid"] == {"CT_case"} and graph["CT_case"] == {"board"}


def test_a_screw_is_tight_before_a_lid_lies_over_it() -> None:
    bench = [
        Removal("lid", seq=1),
        Removal("s1", kind="screw", on="plate", under=("lid",), seq=2),
        Removal("plate", seq=3),
    ]
    assert needs(steps_for(bench))["lid"] == {"TG"}


def test_each_unit_has_its_count_and_the_job_a_last_one() -> None:
    bench = [replace(each, unit="panel") for each in front_panel()]
    bench += [replace(each, unit="iron") for each in transformer()]
    steps = steps_for(bench)
    counts = {step.id: step.unit for step in steps if step.proof and step.id.startswith("CT")}
    assert counts == {"CT": "panel", "CT_iron": "iron", "CT_final": None}
    assert needs(steps)["CT_final"] == {"CT", "CT_iron"}
    assert plan(steps).changes.unit_breaks == 0


def test_ids_stay_when_the_ledger_grows() -> None:
    first = [replace(each, unit="V5") for each in octal_base()]
    more = [
        Removal("J1", unit="box", seq=1),
        replace(first[-1], id="SK2", unit="V6", under=(), seq=2),
        Removal("X9", kind="wire", on="SK2", ends=("1",), unit="V6", seq=3),
    ]
    grown = steps_for([*first, *more])
    assert {step.id for step in steps_for(first)} <= {step.id for step in grown}
    assert len({step.id for step in grown}) == len(grown)


def test_drying_time_of_a_removal_reaches_the_plan() -> None:
    bench = [Removal("board", minutes=20, unattended_minutes=720), Removal("shield", minutes=5)]
    made = plan(steps_for([replace(bench[0], under=("shield",)), bench[1]]))
    assert (made.minutes, made.elapsed_minutes) == (25, 745)


def test_a_control_without_a_panel_is_still_aligned_before_it_is_tight() -> None:
    graph = needs(steps_for([Removal("P1", kind="control")]))
    assert graph == {
        "BODY_P1": set(),
        "NUT_P1": {"BODY_P1"},
        "ALIGN": {"NUT_P1"},
        "TIGHT_P1": {"ALIGN"},
        "CT": {"TIGHT_P1"},
    }


def test_what_a_ledger_may_not_say() -> None:
    with pytest.raises(DoubleStep):
        steps_for([control("P1"), control("P1")])
    with pytest.raises(UnknownStep, match="lid"):
        steps_for([Removal("felt", under=("lid",))])
    with pytest.raises(CircularSteps) as circle:
        steps_for([Removal("a", under=("b",)), Removal("b", under=("a",))])
    assert circle.value.members == ("a", "b")
    with pytest.raises(BadStep, match="fate"):
        Removal("a", fate="lost")
    with pytest.raises(BadStep, match="under"):
        Removal("a", under="abc")  # type: ignore[arg-type]


def test_an_empty_ledger_needs_no_step() -> None:
    assert steps_for([]) == ()
