"""The ledger of pieces: class by class, nothing left over, nothing missing (common practice, no source)."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.reassembly.planner import Found, Ledger, LedgerError, Miss, Row, balance, pair_found

# A pot replaced together with its hardware, and a fibre washer cracked.
REPLACED: dict[str, Row] = {
    "nut": Row(removed=13, issued=1, refitted=13, returned_to_customer=1),
    "flat washer": Row(removed=13, issued=1, refitted=13, returned_to_customer=1),
    "toothed washer": Row(removed=11, issued=1, refitted=11, returned_to_customer=1),
    "fibre washer": Row(removed=2, issued=1, refitted=2, scrapped=1),
}


def test_a_replaced_pot_and_a_cracked_washer_close() -> None:
    weighed = balance(Ledger(REPLACED))
    assert weighed.closed
    assert weighed.open == dict.fromkeys(REPLACED, 0)
    assert (weighed.reasons, weighed.short, weighed.surplus) == ((), {}, {})


def test_equal_totals_of_different_classes_block() -> None:
    swapped = REPLACED | {
        "toothed washer": Row(removed=11, issued=1, refitted=10, returned_to_customer=1),
        "flat washer": Row(removed=13, issued=1, refitted=14, returned_to_customer=1),
    }
    weighed = balance(swapped)
    assert sum(weighed.open.values()) == 0
    assert not weighed.closed
    assert (dict(weighed.short), dict(weighed.surplus)) == ({"toothed washer": 1}, {"flat washer": 1})
    assert set(weighed.reasons) == {"toothed washer: 1 not accounted for.", "flat washer: 1 more than came off."}


def test_the_earth_moved_to_a_stud_closes_with_what_was_issued() -> None:
    """Issued 1 bolt, 2 toothed washers, 1 nut, 1 lock-nut; 1 toothed washer and 1 lock-nut scrapped."""
    rows = {
        "bolt": {"removed": 4, "issued": 1, "refitted": 5},
        "toothed washer": {"removed": 1, "issued": 2, "refitted": 2, "scrapped": 1},
        "nut": {"removed": 4, "issued": 1, "refitted": 5},
        "lock-nut": {"removed": 1, "issued": 1, "refitted": 1, "scrapped": 1},
    }
    assert balance(rows).closed
    assert not balance(rows | {"nut": {"removed": 4, "issued": 1, "refitted": 4}}).closed


COUNT = st.integers(0, 9)


@settings(deadline=None)
@given(st.dictionaries(st.sampled_from("abc"), st.builds(Row, *[COUNT] * 6)))
def test_closed_is_every_class_at_zero(rows: dict[str, Row]) -> None:
    weighed = balance(rows)
    sums = {
        name: row.removed + row.issued
        == row.refitted + row.scrapped + row.returned_to_customer + row.returned_to_stock
        for name, row in rows.items()
    }
    assert weighed.closed is all(sums.values())
    assert {name for name, count in weighed.open.items() if not count} == {n for n, even in sums.items() if even}
    assert set(weighed.short) | set(weighed.surplus) == {name for name, even in sums.items() if not even}


@pytest.mark.parametrize("wrong", [-1, 1.0, True, "2", None])
def test_a_count_that_is_none_is_refused(wrong: object) -> None:
    with pytest.raises(LedgerError, match="scrapped"):
        balance({"nut": {"scrapped": wrong}})  # type: ignore[dict-item]


def test_a_column_that_does_not_exist_is_refused() -> None:
    with pytest.raises(LedgerError, match="lost"):
        balance({"nut": {"removed": 1, "lost": 1}})


def test_a_found_object_is_offered_where_its_class_is_missing() -> None:
    found = [Found("f1", "nut"), Found("f2", "nut", place="V5"), Found("f3", "clip"), Found("f4", "nut")]
    paired = pair_found(found, [Miss("P3", "nut"), Miss("V5", "nut"), Miss("V6", "screw", 2)])
    assert [(pair.found.id, pair.place) for pair in paired.pairs] == [("f1", "P3"), ("f2", "V5")]
    assert paired.pairs[0].candidates == ("P3", "V5")
    assert [thing.id for thing in paired.unexplained] == ["f3", "f4"]
    assert paired.still_missing == (Miss("V6", "screw", 2),)


def test_one_place_can_take_as_many_as_it_misses() -> None:
    paired = pair_found([Found(str(n), "screw") for n in range(3)], [Miss("lid", "screw", 4)])
    assert len(paired.pairs) == 3
    assert paired.still_missing == (Miss("lid", "screw", 1),)
    with pytest.raises(LedgerError):
        Miss("lid", "screw", 0)
