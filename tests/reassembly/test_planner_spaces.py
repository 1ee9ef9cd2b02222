"""Cavities, shared fixings, several stacks, what an end carries, and what is new: in the records' own form, through the planner.

Rules of the trade are common practice, no source, save where a test names one.
"""

from __future__ import annotations

import pytest

from app.reassembly.planner import NOTHING, Question, Removal, Stack, check, origins, plan, removed_pieces, steps_for, way_back_of

from .test_planner_rules import earlier, needs

CORNER = ("bolt", "flat washer", "chassis", "flat washer", "spring washer", "nut")
EARTH_CORNER = ("bolt", "flat washer", "chassis", "toothed washer", "ring (captive)", "nut", "lock-nut")


def closed_amp() -> list[Removal]:
    """A chassis with a board over a link, closed by a plate; the plate lies in the cabinet, which a panel closes."""
    return [
        Removal("RP", kind="cover", seq=1, closes="cabinet"),
        Removal("CH", kind="chassis", seq=2, cavity="cabinet", closes="top"),
        Removal("V1", kind="valve", seq=3, cavity="top", on="XV1"),
        Removal("BP", kind="cover", seq=4, cavity="top", closes="chassis"),
        Removal("TB", kind="tag_board", seq=5, cavity="chassis", stack=("screw", "board", "chassis"), times=4),
        Removal("U1", kind="wire", seq=6, cavity="under TB", on="TB", ends=("1", "2"), hidden=(True, True), under=("TB",)),
        Removal("XV1", kind="valve_base", seq=7, cavity="chassis"),
    ]


def test_every_cavity_is_counted_before_it_closes_innermost_first() -> None:
    steps = steps_for(closed_amp())
    assert "COUNT_under TB" in needs(steps)["TB.fit"] and {"Ju1", "U1"} & earlier(steps, "COUNT_under TB")
    assert "COUNT_chassis" in needs(steps)["BP"] and {"TB.tight", "XV1", "COUNT_under TB"} <= earlier(steps, "COUNT_chassis")
    assert "COUNT_top" in needs(steps)["CH.fit"] and {"V1.fit", "BP", "COUNT_chassis"} <= earlier(steps, "COUNT_top")
    assert "COUNT_cabinet" in needs(steps)["RP"] and "CH.tight" in earlier(steps, "COUNT_cabinet")
    assert check(plan(steps).steps, steps) == ()


def test_a_cavity_that_nothing_closes_is_seen_by_the_last_count_and_asked_about() -> None:
    amp = [Removal("BP", kind="cover"), Removal("XV1", kind="valve_base", cavity="chassis"), Removal("C9", cavity="chassis")]
    back = way_back_of(amp)
    assert "count" not in {what for what, _ in back.origins.values()}
    assert back.questions == (Question("BP", "closes", "Which cavity does BP close?", ("chassis", NOTHING)),)
    said = [Removal("BP", kind="cover", closes="chassis"), *amp[1:]]
    assert way_back_of(said).questions == () and "COUNT_chassis" in needs(steps_for(said))["BP"]
    settled = way_back_of([Removal("BP", kind="cover", closes=NOTHING), *amp[1:]])
    assert settled.questions == () and {what for what, _ in settled.origins.values()} & {"CT", "CT_cover"}


def test_cavities_are_one_whatever_their_case() -> None:
    amp = [Removal("BP", kind="cover", closes="CHASSIS"), Removal("A", cavity="Chassis"), Removal("B", cavity="chassis")]
    steps = steps_for(amp)
    assert {"A", "B"} <= earlier(steps, "COUNT_Chassis") and "COUNT_Chassis" in needs(steps)["BP"]


def test_what_lies_in_no_cavity_is_still_counted() -> None:
    steps = steps_for([*closed_amp(), Removal("K9", seq=9)])
    assert any(what in ("CT", "CT_final") and "K9" in earlier(steps, name) for name, (what, _) in
               origins([*closed_amp(), Removal("K9", seq=9)]).items())


def shared() -> list[Removal]:
    """Two bolts that hold a transformer and a bracket, two that hold the transformer alone."""
    both = [Removal(f"B{n}", kind="bolt", on="T2", also_on=("BR",), side="top", stack=CORNER, seq=n) for n in (1, 2)]
    alone = [Removal(f"B{n}", kind="bolt", on="T2", side="top", stack=CORNER, seq=n) for n in (3, 4)]
    return [*both, *alone, Removal("T2", kind="output_transformer", seq=5, ends=("XV:3",)), Removal("BR", label="bracket", seq=6),
            Removal("W", kind="wire", on="BR", ends=("tag",), seq=7), Removal("XV", kind="valve_base", seq=8)]


def test_a_shared_fixing_is_tightened_once_for_all_that_it_holds() -> None:
    steps = steps_for(shared())
    tightening = [step for step in steps if step.id.startswith("X") and step.label.startswith("Cross")]
    assert [step.label for step in tightening] == ["Cross-tighten T2 and bracket"]
    once = tightening[0].id
    assert {"NB1", "NB2", "NB3", "NB4"} <= earlier(steps, once)
    assert {"T2.fit", "BR"} <= earlier(steps, "BB1"), "it goes through both"
    assert "BR" not in earlier(steps, "BB3"), "it holds the transformer alone"
    assert once in earlier(steps, "Jtag"), "nothing is soldered to the bracket before it is tight"
    assert check(plan(steps).steps, steps) == ()


def test_fixings_that_share_one_after_another_are_one_group() -> None:
    chain = [Removal("B1", kind="bolt", on="A", also_on=("B",), seq=1), Removal("B2", kind="bolt", on="B", also_on=("C",), seq=2),
             *(Removal(name, seq=number) for number, name in enumerate("ABC", 3))]
    tightened = [step.label for step in steps_for(chain) if step.label.startswith("Cross")]
    assert tightened == ["Cross-tighten A and B and C"]


def test_a_body_with_an_earth_corner_is_cleaned_tightened_and_locked_before_the_earth_is_measured() -> None:
    body = Removal("T1", kind="mains_transformer", side="top", stack=CORNER, times=3, others=(Stack(EARTH_CORNER, 1),),
                   ends=("S1:1", "S1:2", "TB:7"), classes=("mains", "mains", "HT"))
    lead = Removal("PEC", kind="protective_earth", ends=("IN:E", "T1:ring"), lifted=("desoldered", "unscrewed"), seq=2)
    steps = steps_for([body, lead, Removal("IN", kind="inlet", seq=3)])
    graph = needs(steps)
    assert {"T1.fit", "T1.prep"} <= graph["T1.snug"] | graph["T1.tight"] | earlier(steps, "T1.snug")
    assert "PEC" in earlier(steps, "T1.tight"), "the ring lies in before its corner is tight"
    assert "T1.trim" in earlier(steps, "PE"), "the lock-nut is on when the earth is measured"
    assert "PE" in earlier(steps, "J1") and "PE" in earlier(steps, "J2") and "PE" not in earlier(steps, "J7")
    counted = {piece: row.removed for piece, row in removed_pieces([body]).rows.items()}
    assert counted == {"bolt": 4, "flat washer": 7, "spring washer": 3, "nut": 4, "toothed washer": 1, "lock-nut": 1, "wire end": 3}


def test_a_plain_corner_four_times_needs_no_cleaning() -> None:
    steps = steps_for([Removal("T2", kind="output_transformer", stack=CORNER, times=4)])
    assert [step.id for step in steps if step.id.startswith("T2")] == ["T2.fit", "T2.snug", "T2.tight"]


def test_a_new_stud_is_prepared_fitted_tightened_and_proven_before_any_mains_wire() -> None:
    stud = Removal("ES", kind="protective_earth", fate="new", stack=("stud", "toothed washer", "chassis", "ring (captive)", "nut"))
    core = Removal("PE2", kind="protective_earth", fate="new", ends=("ES:ring",), lifted=("unscrewed",), seq=2)
    live = Removal("W1", kind="mains_lead", ends=("S1:1",), seq=3)
    steps = steps_for([stud, core, live])
    assert {"CL", "ES"} <= earlier(steps, "TIGHT_ES") and "PE2" in earlier(steps, "TIGHT_ES")
    assert "TIGHT_ES" in earlier(steps, "PE") and "PE" in earlier(steps, "W1")
    assert next(step.label for step in steps if step.id == "ES") == "Fit the new ES"
    assert removed_pieces([stud, core]).rows == {}, "what never came off was never removed"


def test_a_cord_with_its_earth_core_joins_that_core_before_the_earth_is_measured() -> None:
    cord = Removal("CRD", kind="mains_lead", ends=("S1:1", "S1:2", "ES:ring"), lifted=("desoldered", "desoldered", "unscrewed"),
                   classes=("mains", "mains", "bond"))
    stud = Removal("ES", kind="protective_earth", stack=("stud", "chassis", "ring (captive)", "nut"), seq=2)
    steps = steps_for([cord, stud])
    assert {"CRD", "TIGHT_ES"} <= earlier(steps, "PE") and "PE" in earlier(steps, "J1")


def test_the_class_of_an_end_decides_what_its_place_would_only_suggest() -> None:
    def joined(carries: str) -> set[str]:
        amp = [Removal("T1", kind="mains_transformer", ends=("TB:1",), classes=(carries,)),
               Removal("W1", kind="mains_lead", ends=("TB:9",), seq=2), Removal("ES", kind="protective_earth", seq=3)]
        return earlier(steps_for(amp), "J1")
    assert "PE" in joined("mains") and "PE" not in joined("HT") and "PE" not in joined("signal")


def test_which_leads_are_the_primary_is_asked_until_two_are_known() -> None:
    def asked(*carries: str) -> list[str]:
        amp = [Removal("T1", kind="mains_transformer", ends=("TB:1", "TB:2", "TB:3", "XV:2"), classes=carries),
               Removal("XV", kind="valve_base", seq=2)]
        return [question.field for question in way_back_of(amp).questions]
    assert asked("", "", "", "") == ["end 0", "end 1", "end 2"], "what goes to a heater pin is not asked"
    assert asked("mains", "", "", "") == ["end 1", "end 2"]
    assert asked("mains", "", "mains", "") == []


def test_the_ht_is_measured_cold_before_any_power() -> None:
    amp = [Removal("V1", kind="valve", on="XV"), Removal("XV", kind="valve_base", seq=2),
           Removal("W1", kind="wire", ends=("XV:1", "TB:1"), classes=("HT", "HT"), seq=3)]
    steps = steps_for(amp)
    assert {"J1", "J1_TB"} & earlier(steps, "COLD") and "COLD" in earlier(steps, "LAMP")
    plain = [Removal("V1", kind="valve", on="XV"), Removal("XV", kind="valve_base", seq=2)]
    assert "COLD" not in {step.id for step in steps_for(plain)}


def test_a_wire_that_is_called_a_speaker_lead_is_part_of_the_load() -> None:
    def before(carries: str) -> set[str]:
        amp = [Removal("V4", kind="output_valve", on="XV4"), Removal("XV4", kind="valve_base", seq=2),
               Removal("JS", kind="jack", seq=3),
               Removal("W1", kind="wire", ends=("JS:tip", "SEL:8"), classes=(carries, carries), seq=4)]
        return earlier(steps_for(amp), "V4.fit")
    # With no class it waits too, as no stage with the mains on comes before every soldered end is joined.
    assert "Jtip" in before("speaker")
    rules = {reason.rule for step in steps_for([
        Removal("V4", kind="output_valve", on="XV4"), Removal("XV4", kind="valve_base", seq=2),
        Removal("W1", kind="wire", ends=("JS:tip",), lifted=("unplugged",), classes=("speaker",), seq=4)])
        if step.id == "V4.fit" for reason in step.reasons if reason.before == "Jtip"}
    assert rules == {"wired-before-valve"}


@pytest.mark.parametrize(("stack", "again"), [(("screw", "toothed washer", "cover", "chassis"), True), (("screw", "cover"), False)])
def test_a_bonded_cover_is_measured_again_before_anything_lies_over_it(stack: tuple[str, ...], again: bool) -> None:
    amp = [Removal("SLV", kind="chassis", seq=1), Removal("BP", kind="cover", under=("SLV",), stack=stack, times=8, seq=2)]
    steps = steps_for(amp)
    assert ("PEA" in earlier(steps, "SLV.fit")) is again
    assert not again or "BP.tight" in needs(steps)["PEA"]
    assert "PEA" not in {step.id for step in steps_for(amp, earthed=False)}


def test_plugs_of_a_printed_board_wait_for_the_insulation_test_and_are_in_before_the_valves_are_read() -> None:
    amp = [Removal("V1", kind="valve", on="XV"), Removal("XV", kind="valve_base", seq=2),
           Removal("PB", kind="printed_board", seq=3),
           Removal("T1", kind="mains_transformer", ends=("S1:L", "S1:N"), seq=4),
           Removal("WR", kind="wire", ends=("PB:CN1",), lifted=("unplugged",), seq=5)]
    steps = steps_for(amp)
    assert "IR" in earlier(steps, "JCN1") and "JCN1" in earlier(steps, "SMALL")


def test_a_top_cap_lead_is_joined_below_first_and_plugged_on_when_its_valve_is_in() -> None:
    amp = [Removal("V4", kind="output_valve", on="XV4"), Removal("XV4", kind="valve_base", seq=2),
           Removal("CP", kind="wire", ends=("V4:cap", "T2:a"), lifted=("unplugged", "desoldered"), seq=3)]
    steps = steps_for(amp)
    assert "V4.fit" in earlier(steps, "CP>V4:cap") and "V4.fit" not in earlier(steps, "CP>T2:a")
    assert "Jcap" in earlier(steps, "OUT")


def test_a_cord_lies_in_its_clamp_before_that_is_tight_and_is_soldered_when_it_is_held() -> None:
    amp = [Removal("GL", kind="clamp", stack=("screw", "clamp", "chassis", "nut")),
           Removal("CRD", kind="mains_lead", on="GL", ends=("S1:1",), seq=2)]
    steps = steps_for(amp)
    assert "GL.fit" in earlier(steps, "CRD") and "CRD" in earlier(steps, "GL.tight") and "GL.tight" in earlier(steps, "J1")


def test_controls_through_the_bare_chassis_are_each_tightened_by_itself() -> None:
    bare = [Removal(f"P{n}", kind="control", place="front", stack=("nut", "chassis", "body"), seq=n) for n in (1, 2)]
    assert "NUT_P2" not in earlier(steps_for(bare), "TIGHT_P1")
    stayed = [Removal(f"P{n}", kind="control", place="front", stack=("nut", "fascia", "chassis", "body"), seq=n) for n in (1, 2)]
    assert "NUT_P2" in earlier(steps_for(stayed), "TIGHT_P1")
