"""Each sum: its parts are all there, it tells what its function gives, and the figures are the references' own."""

from __future__ import annotations

import re

import pytest

from app import electrics as el
from app.bench.sums.kinds import MARK_WORDS, Answer, Given, Sum, Value, ours, tell
from app.bench.sums.pictures.drawing import Box, Dot, Line, Picture, Word, nice_step, ticks
from app.bench.sums.sections import MATTERS, SUMS

EACH = pytest.mark.parametrize("one", SUMS.values(), ids=lambda one: one.key)


def default(one: Sum, **changed: Value) -> Answer:
    """The answer to a sum's own defaults, with some values changed."""
    values: dict[str, Value] = {}
    for field in one.fields:
        text = field.default
        if field.kind == "quantity":
            values[field.name] = el.parse(text, unit=field.unit) if text else None
        elif field.kind in ("percent", "plain", "count"):
            values[field.name] = float(text) / (100 if field.kind == "percent" else 1)
        else:
            values[field.name] = text
    return one.answer(Given({**values, **changed}))


def figure(answer: Answer, key: str) -> float:
    value = next(one.value for one in answer.figures if one.key == key)
    assert isinstance(value, float)
    return value


@EACH
def test_each_sum_names_formula_source_and_caution(one: Sum) -> None:
    assert len(one.formula) > 20 and one.caution.endswith(".") and one.lead.endswith(".")
    assert one.sources and all(cited.mark in MARK_WORDS and cited.text for cited in one.sources)
    assert len({field.name for field in one.fields}) == len(one.fields)


@EACH
def test_each_sum_answers_its_defaults_with_a_sentence_that_holds_a_figure(one: Sum) -> None:
    answer = default(one)
    assert answer.sentence.endswith(".") and re.search(r"\d", answer.sentence)
    keys = [found.key for found in answer.figures]
    assert keys and len(keys) == len(set(keys)) and all(found.text and "nan" not in found.text for found in answer.figures)


@EACH
def test_each_picture_stays_on_its_paper_and_has_its_sentence(one: Sum) -> None:
    for drawn in default(one).pictures:
        assert drawn.alt.endswith(".") and re.search(r"\d", drawn.alt)
        for x, y in places(drawn):
            assert -1 <= x <= 481 and -1 <= y <= drawn.height + 1, (drawn.title, x, y)


def places(drawn: Picture) -> list[tuple[float, float]]:
    """Every point that is drawn."""
    found: list[tuple[float, float]] = []
    for item in drawn.items:
        if isinstance(item, Line):
            found += [(float(x), float(y)) for x, y in re.findall(r"([-\d.]+) ([-\d.]+)", item.d)]
        elif isinstance(item, Box):
            found += [(item.x, item.y), (item.x + item.w, item.y + item.h)]
        elif isinstance(item, Dot | Word):
            found.append((item.x, item.y))
    return found


# Reference values and where they stand; C: computed with ngspice or an independent solver.
REFERENCES = [
    ("reservoir", "mean_v", 397.60, 0.002, "ngspice case b, 50 Hz"), ("reservoir", "ripple_vpp", 19.39, 0.01, "ngspice case b"),
    ("mains-tap", "ht_v", 400 * 241 / 220, 1e-9, "proportion"), ("turns-ratio", "reflected_ohm", 5600, 0.001, "5600:8 is 26.46:1"),
    ("output-power", "power_w", 50.0, 1e-9, "20 V in 8 ohm"), ("mismatch", "seen_ohm", 2800, 1e-9, "half the load"),
    ("earth-bond", "limit_ohm", 0.1585, 0.004, "IET, 3 m of 1 mm2"), ("meter-loading", "volt", 150.04, 1e-4, "136.4 V through 1 M"),
    ("discharge", "touch_s", 2.015, 0.001, "450 V, 100 uF, 10 k to 60 V"), ("discharge", "start_w", 20.25, 1e-9, "the same"),
    ("discharge", "joule", 10.125, 1e-9, "the same"), ("stored-energy", "one_joule_v", 141.4, 0.001, "sqrt(2 W / C)"),
    ("capacitor-leakage", "limit_a", 426e-6, 1e-9, "0.02 CV + 3, from memory"), ("esr", "esr_ohm", 5.08, 0.001, "tan delta 0.15"),
    ("reforming", "series_ohm", 450**2 / 4.0, 1e-9, "matched load: 1 W at the most"),
    ("colour-bands", "ohm", 4700, 1e-9, "IEC 60062"),
    ("cathode-bias", "cathode_v", 10.86, 0.05, "shared-cathode EL84 pair, ngspice, Koren refit"),
]


@pytest.mark.parametrize(("key", "name", "expected", "within", "source"), REFERENCES, ids=lambda value: str(value))
def test_figures_are_those_of_the_references(key: str, name: str, expected: float, within: float, source: str) -> None:
    assert figure(default(SUMS[key]), name) == pytest.approx(expected, rel=within), source


def test_stage_shows_what_its_function_gives() -> None:
    found = el.triode_stage(valve="12AX7", supply_v=300, anode_ohm=100e3, cathode_ohm=1500, next_grid_ohm=1e6)
    answer = default(SUMS["stage"])
    assert figure(answer, "anode_v") == found.anode_v and figure(answer, "gain") == found.gain
    assert tell(found.anode_v, "V") in answer.sentence


def test_bias_shows_in_volts_why_a_carbon_part_does_not_belong_in_the_range_position() -> None:
    """Common practice, no source."""
    answer = default(SUMS["bias"])
    assert figure(answer, "range_moves_v") > 5 * figure(answer, "film_moves_v") > 0
    assert "carbon" in " ".join(answer.notes) and "carbon" not in " ".join(default(SUMS["bias"], range_tolerance=0.01).notes)


def test_a_lifted_wiper_that_runs_hot_is_a_failed_layout() -> None:
    assert default(SUMS["bias"]).verdict == ("fail", "a lifted wiper runs hot")
    safe = default(SUMS["bias"], layout="pot_to_ground", floor_ohm=33e3, tap_vrms=60.0)
    assert safe.verdict is not None and safe.verdict[0] != "fail"


def test_earth_bond_verdicts_differ_by_regime() -> None:
    """0.25 ohm through 3 m of 1 mm2: pass, fail, pass (the traps of the contract).

    A limit from memory passes nothing, nor does one of an edition that was replaced.
    """
    verdicts = {profile: default(SUMS["earth-bond"], profile=profile, measured_ohm=0.25).verdict
                for profile in ("vde_0701_0702", "iet", "as_nzs_3760")}
    assert verdicts == {"vde_0701_0702": ("doubt", "within, edition replaced"), "iet": ("fail", "outside"),
                        "as_nzs_3760": ("doubt", "within, limit unconfirmed")}


def test_without_tolerance_no_spread_is_drawn() -> None:
    assert len(default(SUMS["stage"]).pictures) == 2 and len(
        default(SUMS["stage"], tolerance=0.0, spread=0.0, mains_tolerance=0.0).pictures) == 1


def test_keys_are_unique_and_every_matter_has_sums() -> None:
    assert sum(len(sums) for _, sums in MATTERS) == len(SUMS) and all(sums for _, sums in MATTERS)


@pytest.mark.parametrize(("span", "about", "step"), [(40.0, 4, 10.0), (0.003, 3, 0.001), (900.0, 5, 200.0)])
def test_steps_of_an_axis_are_round(span: float, about: int, step: float) -> None:
    assert nice_step(span, about) == pytest.approx(step)
    assert len(ticks(0.0, span, about)) >= 3


def test_words_of_the_electrics_are_said_as_the_house_says_them() -> None:
    assert ours("A leg shorted to ground at 57% in the background") == "A leg shorted to earth at 57 % in the background"
