from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from app.journal.events import Event
from app.journal.rules import GENESIS, breaks, entry_hash


def chain(length: int) -> list[dict[str, Any]]:
    previous, entries = GENESIS, []
    for seq in range(1, length + 1):
        facts: dict[str, Any] = {
            "seq": seq, "at": f"2026-03-02T09:{seq % 60:02d}:00.000000+00:00", "person_id": seq % 3, "person_name": "Ines",
            "device": "Bench 1", "event": Event.FINDING_RECORDED.value, "subject_type": "finding", "subject_id": seq,
            "order_id": 1, "before": "{}", "after": '{"hazard":"serious"}', "reason": "", "previous_hash": previous}
        facts["hash"] = previous = entry_hash(previous, facts)
        entries.append(facts)
    return entries


def test_a_whole_chain_has_no_break() -> None:
    assert breaks(chain(50)) == []


@given(st.integers(2, 20), st.data())
def test_any_change_removal_or_swap_shows(length: int, data: st.DataObject) -> None:
    entries = chain(length)
    place = data.draw(st.integers(0, length - 2))
    kind = data.draw(st.sampled_from(["change", "remove", "swap"]))
    if kind == "change":
        field = data.draw(st.sampled_from(["at", "person_name", "before", "after", "reason", "subject_id", "event"]))
        entries[place] = {**entries[place], field: "changed"}
    elif kind == "remove":
        del entries[place]
    else:
        entries[place], entries[place + 1] = entries[place + 1], entries[place]
    assert breaks(entries)


def test_every_event_reads_as_words() -> None:
    assert all(":" in event.value and "_" not in event.phrase for event in Event)
