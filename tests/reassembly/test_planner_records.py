"""Records of today that are right and had no plan; records that contradict each other; why each step waits.

Rules of the trade are common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.reassembly.planner import (
    RULES,
    BadStep,
    CircularSteps,
    DoubleStep,
    End,
    Job,
    Proof,
    Question,
    Removal,
    Stack,
    Step,
    Strength,
    Thing,
    UnknownStep,
    check,
    origins,
    plan,
    steps_for,
    way_back_of,
)

from .test_planner_rules import earlier, needs
from .way_back_cases import front_panel, octal_base, transformer


def two_sided_board() -> list[Removal]:
    """A board wired on both sides: a link under it, a lead from its upper side."""
    return [
        Removal("S1", kind="screw", on="TB", seq=1),
        Removal("TB", label="tag board", under=("S1",), seq=2),
        Removal("U1", label="link", kind="wire", on="TB", ends=("u1", "u2"), under=("TB",), seq=3),
        Removal("W1", kind="wire", on="TB", ends=("t1",), seq=4),
    ]


def transformer_under_its_board() -> list[Removal]:
    """A transformer that lay under the board that its leads are joined to."""
    return [
        Removal("PB", label="printed board", seq=1),
        Removal("T1", kind="mains_transformer", under=("PB",), ends=("PB:1", "PB:2"), seq=2),
    ]


def test_a_link_on_the_hidden_side_is_joined_and_looked_at_before_its_board_goes_down() -> None:
    steps = steps_for(two_sided_board())
    assert {"U1", "Ju1", "Ju2", "LOOK"} <= earlier(steps, "TB")
    assert {"Ju1", "Ju2"} == needs(steps)["LOOK"]
    assert {"TB", "TG"} <= earlier(steps, "Jt1") and "TB" not in earlier(steps, "U1")
    assert check(plan(steps).steps, steps) == ()


def test_a_lead_that_lay_under_its_board_without_an_end_there_is_no_contradiction() -> None:
    lead = Removal("U2", kind="wire", on="XV", ends=("5",), under=("TB",), seq=5)
    steps = steps_for([*two_sided_board(), lead, Removal("XV", kind="valve_base", seq=6)])
    assert "U2" in earlier(steps, "TB") and "XV" in earlier(steps, "U2")


def test_a_transformer_that_lay_under_its_board_goes_in_first_and_is_joined_to_it_after() -> None:
    steps = steps_for(transformer_under_its_board())
    graph = needs(steps)
    assert "T1" in graph["PB"] and "PB" not in earlier(steps, "T1")
    assert {"PB", "T1"} <= earlier(steps, "J1")
    assert {"J1", "J2"} <= earlier(steps, "IR")


def test_a_flying_primary_waits_for_the_earth_as_every_mains_conductor_does() -> None:
    bench = [
        Removal("W1", kind="mains_lead", on="S1", ends=("1",)),
        Removal("T1", kind="mains_transformer", ends=("S1:2", "TB:9")),
        Removal("ES", kind="protective_earth"),
        Removal("S1"),
        Removal("TB"),
    ]
    steps = steps_for(bench)
    assert {"PE", "T1", "S1"} <= earlier(steps, "J2") and "PE" not in earlier(steps, "J9")
    assert "PE" not in earlier(steps, "T1")


def test_records_that_contradict_each_other_are_named_with_the_likely_cure_and_the_rest_stands() -> None:
    bench = [Removal("A", label="shield", under=("B",), seq=1), Removal("B", label="cable", under=("A",), seq=2), *front_panel()]
    with pytest.raises(CircularSteps) as circle:
        steps_for(bench)
    assert circle.value.members == ("A", "B")
    back = way_back_of(bench)
    (conflict,) = back.conflicts
    assert set(conflict.records) == {"A", "B"} and conflict.members == ("A", "B")
    assert len(conflict.reasons) == 2 and conflict.left_out in conflict.reasons
    assert "wrong way round" in conflict.cure
    words = str(conflict)
    assert "contradict each other" in words and "shield A" in words and "cable B" in words
    assert {step.id for step in steps_for(front_panel())} <= {step.id for step in back.steps}
    assert check(plan(back.steps).steps, back.steps) == ()
    assert earlier(back.steps, "TIGHT_P1") >= {"ALIGN", "FAS", "NUT_P7"}


def test_a_soldered_lead_under_what_it_is_soldered_to_on_the_seen_side_is_explained() -> None:
    bench = [
        Thing("TB", "board", "tag board", under=(), seq=1),
        Thing("W", "lead", "wire", seq=2, under=("TB",), ends=(End("TB", "t1", hidden=False), End("X", "1"))),
        Thing("PL", "plate", "part", acts=("fit",), seq=3, under=("TB",), on="TB"),
    ]
    back = way_back_of(bench)
    assert check(plan(back.steps).steps, back.steps) == ()
    assert "TB.fit" in earlier(back.steps, "Jt1")


def test_a_habit_gives_way_to_a_record_without_a_word() -> None:
    """A lead is usually laid before what covers it; when its end can only be placed later, nobody is bothered."""
    bench = [
        Thing("LID", "lid", "part", acts=("fit",), seq=1),
        Thing("BASE", "base", "valve base", seq=2, under=(), on="LID"),
        Thing("W", "lead", "wire", seq=3, under=("LID",), ends=(End("BASE", "1"),)),
    ]
    back = way_back_of(bench)
    assert back.conflicts == () and "LID.fit" in earlier(back.steps, "W>BASE:1")


def test_what_a_record_lay_under_and_nobody_recorded_is_passed_over_and_named() -> None:
    felt = Removal("felt", under=("lid",))
    with pytest.raises(UnknownStep, match="lid"):
        steps_for([felt])
    back = way_back_of([felt])
    assert back.unknown == (("felt", "lid"),) and {step.id for step in back.steps} == {"felt", "CT"}
    with pytest.raises(DoubleStep):
        way_back_of([felt, felt])


@pytest.mark.parametrize("case", [front_panel, transformer, octal_base, two_sided_board])
def test_every_step_of_todays_records_says_why_it_waits(case: object) -> None:
    removals = case()  # type: ignore[operator]
    marks = {each.id for each in removals}
    for step in steps_for(removals):
        said = {reason.before: reason for reason in step.reasons}
        assert set(step.after) <= said.keys()
        for reason in said.values():
            assert RULES[reason.rule].words in reason.words
            assert set(reason.records) <= marks | {""}


def test_the_reason_names_rule_and_records() -> None:
    steps = {step.id: step for step in steps_for(transformer())}
    (reason,) = [each for each in steps["W1"].reasons if each.before == "PE"]
    assert (reason.number, reason.records, reason.strength) == (1, ("C",), Strength.SAFETY)
    assert reason.words == ("W1 waits for the protective earth to be measured: "
                            "the protective earth is made and measured before any mains wire is joined.")


def test_ids_and_origins_of_todays_records_are_what_they_were() -> None:
    found = origins(transformer())
    assert found["PE"] == ("PE", "") and found["IR"] == ("IR", "T") and found["X"] == ("X", "T") and found["CL"] == ("CL", "C")
    assert origins(front_panel())["OVER_J1"] == ("OVER", "J1")


def test_a_capacitor_from_the_line_to_the_chassis_never_goes_back() -> None:
    bad = Thing("DC", "capacitor from the line to the chassis", "line-to-chassis capacitor", ends=(End("S1", "1"),))
    back = way_back_of([bad, Thing("S1", "switch", "switch", acts=("fit",))])
    assert back.never_back == ("DC",) and not [step for step in back.steps if "DC" in step.id]


def test_a_shared_bolt_is_tight_once_for_all_that_it_holds() -> None:
    stack = Stack(("bolt", "RAIL", "(chassis)", "VB", "nut"), 4)
    bolt = Thing("B", "bolts", "bolt", ("fit", "snug", "tight"), on="VB", stacks=(stack,))
    bench = [bolt, Thing("RAIL", "rail", "part", ("fit",)), Thing("VB", "valve board", "valve board", ("fit",)),
             Thing("W", "lead", "wire", ends=(End("VB", "1"), End("RAIL", "tag")))]
    steps = steps_for(bench)
    assert "RAIL.fit" in earlier(steps, "B.fit") and "VB.fit" not in earlier(steps, "B.fit")
    assert "VB.fit" in earlier(steps, "B.snug")
    assert "B.tight" in earlier(steps, "J1") and "B.tight" in earlier(steps, "Jtag")
    assert sum(step.id == "B.tight" for step in steps) == 1


def test_an_end_under_the_screws_of_a_base_is_laid_in_before_they_are_tight_even_before_the_heater_pair() -> None:
    bench = [
        Thing("D1", "sense resistor", "resistor", ends=(End("XV", "8"), End("XV", "tag", "clamped"))),
        Thing("HW", "heater pair", "wire", ends=(End("XV", "2"), End("XV", "7"))),
        Thing("XV", "octal base", "valve base", ("fit", "snug", "tight")),
    ]
    back = way_back_of(bench)
    assert back.conflicts == ()
    assert "D1>XV:tag" in earlier(back.steps, "XV.tight")
    assert {"XV.tight", "HW>XV:2", "HW>XV:7"} <= earlier(back.steps, "D1>XV:8")


def test_the_bond_of_a_cover_is_plugged_in_before_the_cover_is_on() -> None:
    bench = [
        Thing("BP", "bottom plate", "cover", ("fit", "tight"), seq=1),
        Thing("B", "bond of the plate", "protective earth conductor", seq=2, under=("BP",),
              ends=(End("BP", "tab", "plugged", hidden=False), End("ES", "ring", "clamped"))),
        Thing("ES", "stud", "earth stud", seq=3),
        Thing("L", "live", "mains conductor live", seq=4, ends=(End("S", "1"),)),
    ]
    steps = steps_for(bench)
    assert "Jtab" in earlier(steps, "BP.fit")
    assert "BP.fit" not in earlier(steps, "PE") and {"PE"} <= earlier(steps, "J1") and "B>ES:ring" in earlier(steps, "PE")


def test_a_voltage_measured_with_the_valve_in_is_no_stage_before_it() -> None:
    bench = [Thing("V4", "EL34", "output valve", on="XV4"), Thing("XV4", "base", "valve base")]
    again = Proof("M2", "HT under load", quantity="voltage", after=(("V4", "fit"),))
    back = way_back_of(Job(tuple(bench), (Proof("M1", "HT unloaded", quantity="voltage"), again)))
    assert back.conflicts == ()
    assert "M1" in earlier(back.steps, "V4.fit") and "V4.fit" in earlier(back.steps, "M2")


def test_what_the_record_cannot_know_is_asked_and_refuses_nothing() -> None:
    bench = [
        Thing("V1", "EL34", "valve"),
        Thing("XA", "octal base", "valve base"),
        Thing("V2", "EL34", "valve", on="XB"),
        Thing("XB", "octal base", "valve base"),
        Thing("F1", "fuse", "fuse"),
        Thing("C1", "reservoir", "can capacitor"),
        Thing("CL", "clamp", "capacitor clamp"),
        Thing("P1", "pot", "pot", stacks=(Stack(("(body)", "toothed washer", "(chassis)", "nut", "knob")),)),
        Thing("P2", "pot", "pot", stacks=(Stack(("knob", "nut", "(chassis)", "toothed washer", "(body)")),)),
    ]
    back = way_back_of(bench)
    assert [(each.record, each.field, each.choices) for each in back.questions] == [
        ("V1", "on", ("XA",)), ("C1", "on", ("CL",)), ("P1", "stacks", ())]
    assert "Turn it round?" in back.questions[-1].words and "V1" in back.questions[0].words
    assert isinstance(back.questions[0], Question) and check(plan(back.steps).steps, back.steps) == ()


def test_what_a_thing_may_not_say() -> None:
    with pytest.raises(BadStep, match="acts"):
        Thing("a", acts=("glue",))  # type: ignore[arg-type]
    with pytest.raises(BadStep, match="ends"):
        Thing("a", ends=(End("b", "1", how="glued"),))
    with pytest.raises(BadStep, match="id"):
        Thing("")


def test_heavy_first_and_glass_last_where_nothing_else_decides() -> None:
    bench = [
        Thing("V1", "ECC83", "valve", side="top", on="XV1"),
        Thing("P", "plate", "part", ("fit",), side="top"),
        Thing("T2", "output transformer", "output transformer", ("fit",), side="top"),
        Thing("XV1", "base", "valve base", ("fit",), side="top"),
    ]
    order = [step.id for step in plan(steps_for([replace(each, seq=number) for number, each in enumerate(bench)])).steps]
    assert order.index("T2.fit") < order.index("P.fit") < order.index("V1.fit")


def test_a_step_may_be_made_without_reasons() -> None:
    assert Step("a") == Step("a", reasons=()) and Step("a").reasons == ()
