"""The journal's one table."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base


class JournalEntry(Base):
    """One change. `seq` has no gaps; `hash` covers the entry and the hash of the one before.

    Without the salt nobody could tell from the hash, by trying names and numbers, who was erased from the entry.
    """

    __tablename__ = "journal_entry"

    seq: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    person_id: Mapped[int | None]
    person_name: Mapped[str]
    device: Mapped[str]
    event: Mapped[str]
    subject_type: Mapped[str]
    subject_id: Mapped[int]
    order_id: Mapped[int | None]
    before: Mapped[str]
    after: Mapped[str]
    reason: Mapped[str]
    previous_hash: Mapped[str]
    hash: Mapped[str]
    # Chance that the hash covers too; empty in entries of before 0.2.0, and once a person was erased from the entry.
    salt: Mapped[str] = mapped_column(default="", deferred=True)

    __table_args__ = (
        sa.CheckConstraint("seq > 0", name="seq_counts_from_one"),
        sa.CheckConstraint("length(hash) = 64", name="hash_is_sha256"),
        sa.Index("ix_journal_entry_order", "order_id", "seq"),
        sa.Index("ix_journal_entry_subject", "subject_type", "subject_id"),
    )
