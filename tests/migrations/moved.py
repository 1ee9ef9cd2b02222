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


def by_class(owner: str, table: str, column: str, where: str = "") -> Callable[[sa.Connection], Pairs]:
    """A count by name that became rows of a class of hardware: key of the owner → name → count, as it stood in one cell."""
    def read(connection: sa.Connection) -> Pairs:
        found: dict[Any, dict[str, int]] = {key: {} for (key,) in connection.execute(sa.text(f"SELECT id FROM {owner}"))}
        asked = (f'SELECT p.{owner}_id, c.label, p."{column}" FROM {table} p JOIN hardware_class c ON c.id = p.hardware_class_id '
                 f'WHERE p."{column}" IS NOT NULL{where}')
        for key, label, count in connection.execute(sa.text(asked)):
            found[key][label] = count
        return found.items()
    return read


def left_at_closures(connection: sa.Connection) -> Pairs:
    """Nothing left was an empty list in count 12 of the shop of 0.1.0, and an empty mapping in every other."""
    for key, counts in by_class("closure_count", "closure_count_piece", "left", ' AND p."left" <> 0')(connection):
        yield key, counts or ([] if key == 12 else {})


def was_under(connection: sa.Connection) -> Pairs:
    """Tags of what a removal was under, in the order in which they were told; tags that named nothing are on the owner's list."""
    found: dict[Any, list[str]] = {key: [] for (key,) in connection.execute(sa.text("SELECT id FROM removal"))}
    for key, mark in connection.execute(sa.text("SELECT t.removal_id, r.mark FROM removal_tie t JOIN removal r ON r.id = t.to_id "
                                                "WHERE t.how = 'under' ORDER BY t.id")):
        found[key].append(mark)
    for key, text in connection.execute(sa.text("SELECT record_id, text FROM leftover WHERE told = 'was under' ORDER BY id")):
        found[key].append(text)
    return found.items()


def label_of(table: str) -> str:
    return f"SELECT t.id, c.label FROM {table} t JOIN hardware_class c ON c.id = t.hardware_class_id"


FOUND_BY: dict[str, str | Callable[[sa.Connection], Pairs]] = {
    # 0008 counts hardware by its class.
    "removal.fasteners": by_class("removal", "removal_piece", "count", " AND p.use = 'loose'"),
    "removal.lacked": by_class("removal", "removal_piece", "count", " AND p.use = 'lacking'"),
    "closure_count.left": left_at_closures,
    "closure_count.open": by_class("closure_count", "closure_count_piece", "open"),
    "bench_handover.counted": by_class("bench_handover", "bench_handover_piece", "counted", " AND p.counted <> 0"),
    "bench_handover.open": by_class("bench_handover", "bench_handover_piece", "open", " AND p.open <> 0"),
    "piece_entry.piece": label_of("piece_entry"),
    "found_object.piece": label_of("found_object"),
    "lost_piece.piece": label_of("lost_piece"),
    # 0009 names records by their keys.
    "removal.under": was_under,
    "photo_pin.kind": "SELECT id, CASE WHEN finding_id IS NOT NULL THEN 'finding' WHEN removal_id IS NOT NULL THEN 'removal' "
                      "ELSE 'position' END FROM photo_pin",
    "photo_pin.subject_id": "SELECT id, coalesce(finding_id, removal_id, board_position_id) FROM photo_pin",
    # 0011 names the line that a part is for.
    "part.thread": "SELECT id, line_root_id FROM part",
    "quote_issued_line.thread": "SELECT id, line_root_id FROM quote_issued_line",
    # 0016 frees the place of an amp that has left.
    "repair_order.shelf": "SELECT id, CASE WHEN ended_as IS NULL THEN shelf ELSE left_shelf END FROM repair_order",
    # 0004 says whether the mains lead is in the reading.
    "profile_step.question": "SELECT id, CASE WHEN kind = 'protective earth' AND question LIKE '%the mains lead is %reading.' "
                             "THEN 'From the plug’s earth pin to each bare metal part.' ELSE question END FROM profile_step",
}
GIVEN_UP: dict[str, str] = {
    "safety_test.started_seq": "a place in the journal; 0003 turned it into last_opening_id",
    "amp.find_text": "words for the search, made of the amp's own columns; the index search_entry takes their place",
    "customer.find_text": "words for the search, made of the customer's own columns; the index search_entry takes their place",
    "sign_in.proved_at": "when a password or a PIN was given, nobody knows which of them; password_at counts the password alone",
    "soak_run.started_seq": "a place in the journal; 0003 turned it into last_opening_id",
}
