"""A sum says within, fits or as new only of a reading that can be one: not of a negative magnitude, a nought, an old edition."""

from __future__ import annotations

import pytest

from app.bench.sums.other_valve import OTHER
from app.bench.sums.sections import SUMS
from app.electrics import BOND_PROFILES, valve
from tests.sums.working import no_shop, worked  # noqa: F401 - a fixture


@pytest.mark.parametrize(("key", "field", "typed"), [
    ("earth-bond", "measured_ohm", "-0.05"), ("capacitor-leakage", "measured_a", "-180u"), ("esr", "measured_ohm", "-1"),
    ("idle-by-winding", "anode_v", "-450"), ("idle-by-winding", "drop_v", "-3"), ("idle", "cathode_a", "-40m"),
])
def test_a_negative_magnitude_is_refused_beside_its_field(key: str, field: str, typed: str) -> None:
    found = worked(key, **{field: typed})
    assert found.answer is None and list(found.form.errors) == [field]


@pytest.mark.parametrize(("key", "field"), [
    ("earth-bond", "measured_ohm"), ("capacitor-leakage", "measured_a"), ("esr", "measured_ohm"),
])
def test_a_reading_of_nothing_is_asked_back_and_never_green(key: str, field: str) -> None:
    answer = worked(key, **{field: "0"}).answer
    assert answer is not None and answer.verdict is not None
    assert answer.verdict[0] == "doubt" and "look at leads and range" in answer.verdict[1]


@pytest.mark.parametrize("profile", [one for one in BOND_PROFILES if one.replaced], ids=lambda one: one.id)
def test_a_limit_of_an_edition_that_was_replaced_passes_nothing(profile: object) -> None:
    answer = worked("earth-bond", profile=profile.id, measured_ohm="0.05").answer  # type: ignore[attr-defined]
    assert answer is not None and answer.verdict == ("doubt", "within, edition replaced")
    assert "replaced" in " ".join(answer.notes)


def test_some_edition_that_was_replaced_is_still_offered() -> None:
    assert [one for one in BOND_PROFILES if one.replaced]


@pytest.mark.parametrize("key", ["idle", "idle-by-winding", "cathode-bias"])
def test_a_dissipation_limit_from_memory_is_never_alone_behind_a_green_word(key: str) -> None:
    names = [name for name, _ in next(one for one in SUMS[key].fields if one.name == "valve").options]
    seen = set()
    for name in names:
        if name == OTHER:
            continue
        answer = worked(key, valve=name).answer
        mark = valve(name).limits().mark_of("anode_w")
        assert answer is None or answer.verdict is None or answer.verdict[0] != "pass" or mark == "S", name
        seen.add(mark)
    assert "M" in seen
