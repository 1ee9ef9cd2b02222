"""What a supply's page says of its ratings: the rectifier's sheet, and capacitors judged by the start-up peak."""

from __future__ import annotations

import pytest
from flask import Flask

from app.bench.sums.kinds import Rating, judged
from app.bench.sums.work import work_out
from app.electrics.limits import limit
from tests.pages import PageClient
from tests.sums.test_no_input_breaks_a_page import usual
from tests.sums.test_sections import SUMS, default, figure

RESERVOIR, SMOOTHING = SUMS["reservoir"], SUMS["smoothing"]


def test_a_small_rectifier_valve_with_a_large_reservoir_is_beyond_its_limits() -> None:
    """5Y3GT: 125 mA mean, 400 mA peak a plate, 20 uF first capacitor (from memory of the sheet)."""
    answer = default(RESERVOIR, secondary_vrms=350.0, drop="5Y3GT", reservoir_farad=200e-6, load_ohm=None, load_a=0.3)
    assert answer.verdict is not None and answer.verdict[0] == "fail"
    beyond = {one.name for one in answer.limits if one.verdict == "above"}
    assert len(beyond) >= 3
    assert sum(one.decides for one in answer.limits) == 1


def test_a_capacitor_is_judged_by_the_start_and_not_by_the_volts_with_nothing_drawn() -> None:
    """A choke drives the second capacitor above the winding's peak of 459.6 V (tests/electrics holds it against ngspice)."""
    answer = default(SMOOTHING, rated_v=500.0, reservoir_rated_v=500.0)
    assert figure(answer, "highest_v") > 1.15 * 325 * 2**0.5
    verdicts = {one.name: one.verdict for one in answer.limits}
    assert verdicts["Capacitor after it: voltage at start-up"] == "above"
    assert answer.verdict == ("fail", "beyond a limit")
    assert "At start-up" in answer.sentence


def test_a_part_of_the_current_is_no_more_than_all_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("app.kernel.speech._speech", None)
    with Flask(__name__).test_request_context():
        worked = work_out(SMOOTHING, usual(SMOOTHING) | {"stage_a": "200m", "load_a": "130m"})
    assert worked.answer is None and "“Drawn altogether”" in worked.form["stage_a"].errors[0]


def test_the_reservoir_beside_a_choke_is_the_one_that_carries_it() -> None:
    """The reservoir's volts and ripple are those of the whole network, not of the reservoir alone (ngspice, R6.1 d)."""
    answer = default(SMOOTHING)
    assert figure(answer, "less") == pytest.approx(19.37 / 0.0873, rel=0.1)


def test_a_limit_from_memory_is_never_green() -> None:
    remembered = limit("mean current", 0.05, 0.25, "A", source="from memory", unconfirmed=True)
    assert Rating(remembered).kind == "doubt" and "memory" in Rating(remembered).word
    assert judged((remembered,)) == ("doubt", "within limits from memory")
    assert judged((limit("a", 1.0, 2.0, "V", source="printed"),)) == ("pass", "within its limits")
    assert judged(()) is None


def test_the_page_draws_each_limit_with_its_word_and_source(technician: PageClient) -> None:
    page = technician.get("/sums/reservoir?mine=yes&secondary_vrms=350&drop=5Y3GT&reservoir_farad=200u&load_ohm=&load_a=300m").text
    assert "above the limit" in page and "Rating:" in page and page.count('class="band"') >= 4
