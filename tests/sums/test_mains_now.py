"""The mains as it is now against the tap: every sum that asks for a winding takes it, and says what it took."""

from __future__ import annotations

import pytest

from app.bench.sums.sections.windings import read_valves
from app.bench.sums.work import Worked
from app.electrics import ElectricsError
from tests.sums.working import no_shop, worked  # noqa: F401 - a fixture

NOW = {"now_v": "240", "set_tap_v": "220"}


def figure(found: Worked, key: str) -> float:
    assert found.answer is not None, found.form.errors
    return float(next(one.value for one in found.answer.figures if one.key == key))


@pytest.mark.parametrize("key", ["reservoir", "smoothing"])
def test_a_winding_follows_the_mains(key: str) -> None:
    """240 V on a 220 V tap is 1.0909 times; with the load as a resistance all of the supply scales with it, but for the diodes."""
    load = {"load_ohm": "3k", "load_a": ""} if key == "reservoir" else {}
    now, nominal = worked(key, **NOW, **load), worked(key, **load)
    scaled = worked(key, secondary_vrms="354.5454545", **load)
    name = "no_load_v" if key == "reservoir" else "settled_v"
    assert figure(now, name) == pytest.approx(figure(scaled, name), rel=1e-6) != figure(nominal, name)
    assert now.answer is not None and "240 V of mains voltage on the 220 V tap" in " ".join(now.answer.notes)


def test_heaters_are_judged_by_the_mains_now() -> None:
    """240 V on a 220 V tap: 6.3 V becomes 6.87 V, +9.1 % (worked example); on 200 V it is beyond 10 %."""
    found = worked("heater-winding", winding_a="8", **NOW)
    assert figure(found, "heater_v") == pytest.approx(6.873, abs=0.001)
    high = worked("heater-winding", winding_a="8", now_v="240", set_tap_v="200")
    assert high.answer is not None and high.answer.verdict == ("fail", "heaters outside 10 %")


@pytest.mark.parametrize(("typed", "field"), [({"now_v": "240"}, "set_tap_v"), ({"set_tap_v": "220"}, "now_v"),
                                             ({"now_v": "0", "set_tap_v": "220"}, "now_v"),
                                             ({"now_v": "240", "set_tap_v": "-1"}, "set_tap_v")])
def test_one_without_the_other_is_asked_beside_it(typed: dict[str, str], field: str) -> None:
    found = worked("reservoir", **typed)
    assert found.answer is None and list(found.form.errors) == [field]


@pytest.mark.parametrize(("text", "read"), [
    ("2 × EL34, 3 × 12AX7", [("EL34", 2), ("12AX7", 3)]), ("2x el34; gz34", [("el34", 2), ("gz34", 1)]),
    ("2 KT88 + 12AT7", [("KT88", 2), ("12AT7", 1)]),
    ("12AX7WB", [("12AX7WB", 1)]), ("", []),
])
def test_valves_are_read_with_how_many(text: str, read: list[tuple[str, int]]) -> None:
    assert read_valves(text) == read


def test_a_name_that_is_no_valve_is_named() -> None:
    with pytest.raises(ElectricsError, match="XX99"):
        read_valves("2 × EL34, XX99")


def test_a_suffix_is_said_on_the_page() -> None:
    found = worked("heater-winding", valves="2 × 5881WXT", winding_a="4")
    assert found.answer is not None and "is taken as a 5881" in " ".join(found.answer.notes)
