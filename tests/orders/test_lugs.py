"""The strip of seven lugs: what was reached is made off, what was not stays open, and an end that is no repair is barred."""

from __future__ import annotations

import pytest

from app.orders.lugs import lugs
from app.orders.stages import IN_ORDER, End, Stage


def states(stage: Stage, ended: End | None) -> list[str]:
    return [lug.state for lug in lugs(stage, ended=ended, held=False)]


@pytest.mark.parametrize("stage", IN_ORDER)
@pytest.mark.parametrize("end", [End.UNREPAIRED, End.UNCOLLECTED])
def test_an_end_without_repair_bars_the_lug_it_came_to(stage: Stage, end: End) -> None:
    here = IN_ORDER.index(stage)
    assert states(stage, end) == ["made_off"] * here + ["barred"] + ["open"] * (6 - here)
    assert lugs(stage, ended=end, held=False)[here].note == end.word.lower()


def test_only_a_repaired_amp_has_all_seven_made_off() -> None:
    assert states(Stage.RETURN, End.REPAIRED) == ["made_off"] * 7
    assert states(Stage.QUOTE, None) == ["made_off"] * 2 + ["present"] + ["open"] * 4
    assert [lug.state for lug in lugs(Stage.QUOTE, ended=None, held=True)][2] == "held"
