"""The index: one row for each record that can be found. It holds nothing of its own: every row can be made anew."""

from __future__ import annotations

import enum

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base
from app.journal.triggers import DERIVED

ROOM_OF_A_KIND = 1 << 40  # ids of one kind lie together, so that "the newest of a kind" is a range of the primary key
_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")  # SQLite's row id must be called INTEGER


class Kind(enum.StrEnum):
    """What can be found. The order here is the order on the page."""

    ORDER = "order"
    CUSTOMER = "customer"
    AMP = "amp"
    NEED = "part"
    LISTED = "listed part"
    PAPER = "paper"

    @property
    def first_id(self) -> int:
        """Where the ids of this kind begin in the index. A new kind goes to the end: these numbers are stored."""
        return (list(Kind).index(self) + 1) * ROOM_OF_A_KIND

    @classmethod
    def of_entry(cls, entry_id: int) -> Kind:
        """The kind of an entry, which its id tells."""
        return list(cls)[entry_id // ROOM_OF_A_KIND - 1]

    def entry_id(self, record_id: int) -> int:
        return self.first_id + record_id


class SearchEntry(Base):
    """One record that can be found: what it is called, its facts as they are shown, and the words that are looked through.

    `id` follows from kind and record. `facts`: [label, value] in the order in which they are shown. `words`: see rules.haystack.
    No CHECK on `kind`: the index is made anew, and a new kind needs no migration of old rows.
    """

    __tablename__ = "search_entry"

    id: Mapped[int] = mapped_column(_ID, primary_key=True, autoincrement=False)
    kind: Mapped[str]
    record_id: Mapped[int]
    order_id: Mapped[int | None] = mapped_column(sa.ForeignKey("repair_order.id"))
    title: Mapped[str]
    facts: Mapped[list[list[str]]] = mapped_column(sa.JSON)
    words: Mapped[str]


def is_derived(table: str) -> bool:
    """Whether a table belongs to the index, its full-text tables on SQLite included: never kept in a backup."""
    return table.startswith(DERIVED)
