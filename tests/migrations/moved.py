"""Where values of older schemas are found in the newest one. A migration that renames, moves or reshapes a column says it here.

Name the old table and column, as in "removal.fixed_to", and tell how its old values are read from the newest schema: a SELECT, or a
function of the connection that returns as many pairs, of the old row's key (a tuple where it has several parts) and the old value:

    "photo_pin.subject_id": "SELECT id, coalesce(finding_id, removal_id, position_id) FROM photo_pin",

A table that was renamed needs that for each of its columns. What is given up on purpose stands in GIVEN_UP, with the reason.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import sqlalchemy as sa

Pairs = Iterable[tuple[Any, Any]]

FOUND_BY: dict[str, str | Callable[[sa.Connection], Pairs]] = {
    # 0004 says whether the mains lead is in the reading.
    "profile_step.question": "SELECT id, CASE WHEN kind = 'protective earth' AND question LIKE '%the mains lead is %reading.' "
                             "THEN 'From the plug’s earth pin to each bare metal part.' ELSE question END FROM profile_step",
}
GIVEN_UP: dict[str, str] = {
    "safety_test.started_seq": "a place in the journal; 0003 turned it into last_opening_id",
    "amp.find_text": "words for the search, made of the amp's own columns; the index search_entry takes their place",
    "customer.find_text": "words for the search, made of the customer's own columns; the index search_entry takes their place",
    "soak_run.started_seq": "a place in the journal; 0003 turned it into last_opening_id",
}
