"""A valve that is not in the table: typed limits carry their sheet, and without one they pass nothing."""

from __future__ import annotations

import pytest

from app.bench.sums.other_valve import NO_CURVES, OTHER
from app.bench.sums.sections import SUMS
from app.electrics import valve
from tests.sums.test_no_input_breaks_a_page import usual
from tests.sums.working import no_shop, worked  # noqa: F401 - a fixture

SHEET = {"other_sheet": "Tube maker's data sheet, 1961"}
CURVES = {"other_like": "6L6GC"}
TRIODE = {"other_like": "12AX7", "other_w": "1.2", "other_v": "330"}
RECTIFIER = {"drop": OTHER, "other_drop_v": "17", "other_drop_a": "225m", "other_mean_a": "250m", "other_peak_a": "750m",
             "other_piv_v": "1500", "other_farad": "60u"}
ASKS = [key for key, one in SUMS.items() if {"valve", "drop"} & {field.name for field in one.fields}]


def typed_for(key: str) -> dict[str, str]:
    if key in ("reservoir", "smoothing", "transformer"):
        return RECTIFIER
    if key == "grid-leak":
        return {"valve": OTHER, "sheet_ohm": "470k"}
    return {"valve": OTHER, **(TRIODE if key == "stage" else {**CURVES, "other_w": "30", "other_v": "700", "other_screen_w": "5"})}


def test_the_sums_that_ask_for_a_valve_are_these() -> None:
    assert set(ASKS) == {"bias", "idle", "idle-by-winding", "cathode-bias", "push-pull", "stage", "reservoir", "smoothing",
                         "transformer", "grid-leak"}


@pytest.mark.parametrize("key", ASKS)
def test_every_sum_that_asks_for_a_valve_takes_another(key: str) -> None:
    found = worked(key, **typed_for(key), other_name="XY99")
    assert found.answer is not None, found.form.errors
    said = " ".join([found.answer.sentence, *(cited.text for cited in found.answer.sources),
                     *(one.source for one in found.answer.limits)])
    assert "typed here, no sheet named" in said


@pytest.mark.parametrize("key", ["idle", "idle-by-winding", "cathode-bias", "reservoir", "smoothing", "grid-leak"])
def test_typed_limits_are_green_only_with_their_sheet(key: str) -> None:
    easy = {"cathode_a": "20m", "drop_v": "1", "load_a": "40m", "load_ohm": "", "stage_a": "10m", "cathode_ohm": "1k",
            "supply_v": "250", "screen_v": "250"}
    given = typed_for(key) | {name: text for name, text in easy.items() if name in usual(SUMS[key])}
    bare, named = worked(key, **given).answer, worked(key, **given, **SHEET).answer
    assert bare is not None and bare.verdict is not None and bare.verdict[0] == "doubt"
    assert named is not None and named.verdict is not None and named.verdict[0] == "pass", named.verdict


def test_a_typed_valve_gives_what_the_listed_one_gives() -> None:
    """A 6L6GC typed by hand is a 6L6GC; a GZ34 typed by its drop is within 2 % of its entry."""
    typed, listed = (worked("idle", **given).answer for given in (typed_for("idle"), {"valve": "6L6GC"}))
    assert typed is not None and listed is not None
    watt = next(one.value for one in typed.figures if one.key == "anode_dissipation_w")
    assert watt == pytest.approx(450 * 0.04, rel=1e-9)  # no point, hence no screen share: all of it is the anode's
    by_drop, by_name = (worked("reservoir", **given).answer for given in (RECTIFIER, {"drop": "5AR4"}))
    assert by_drop is not None and by_name is not None
    assert by_drop.figures[0].value == pytest.approx(by_name.figures[0].value, rel=0.02)


@pytest.mark.parametrize(("key", "changed", "field"), [
    ("idle", {"other_w": ""}, "other_w"), ("idle", {"other_w": "0"}, "other_w"),
    ("push-pull", {"other_like": NO_CURVES}, "other_like"),
    ("stage", {"other_like": NO_CURVES}, "other_like"), ("reservoir", {"other_drop_v": ""}, "other_drop_v"),
    ("reservoir", {"other_peak_a": "-1"}, "other_peak_a"),
])
def test_what_the_sum_needs_of_it_is_asked_beside_its_field(key: str, changed: dict[str, str], field: str) -> None:
    found = worked(key, **(typed_for(key) | changed))
    assert found.answer is None and list(found.form.errors) == [field]


def test_without_curves_the_bias_is_shown_and_no_limit_is() -> None:
    answer = worked("bias", valve=OTHER, other_w="30", layout="pot_to_ground", floor_ohm="33k", tap_vrms="60").answer
    assert answer is not None and answer.verdict == ("doubt", "fails cold, too hot not judged")
    assert "limit_v" not in {one.key for one in answer.figures} and "curves" in " ".join(answer.notes)


@pytest.mark.parametrize("key", ["push-pull", "cathode-bias"])
def test_a_valve_with_limits_only_is_refused_beside_it_where_curves_are_needed(key: str) -> None:
    found = worked(key, valve="KT150")
    assert found.answer is None and list(found.form.errors) == ["valve"]
    assert "only the limits" in str(found.form.errors["valve"])


def test_a_limit_that_is_not_known_is_said_so() -> None:
    kt150, sc7 = worked("idle", valve="KT150").answer, worked("stage", valve="6SC7").answer
    assert kt150 is not None and sc7 is not None
    for answer in (kt150, sc7):
        assert "no limit known here" in [one.value for one in answer.figures]
    assert valve("KT150").limits().screen_w is None


def test_the_rectifier_of_unknown_drop_is_refused_beside_it() -> None:
    found = worked("reservoir", drop="GZ37")
    assert found.answer is None and list(found.form.errors) == ["drop"]
