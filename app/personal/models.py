"""Erasures, and the papers that the law keeps for a while after one."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base
from app.documents.models import IssuedDocument
from app.records.models import Customer


class Erasure(Base):
    """A customer who was taken out of the records: when, by whom, why, and what the paper about it says. Never changed.

    `told` holds what was erased as [what, how many], what was kept as [what, why, until], and what is beyond reach in sentences.
    """

    __tablename__ = "erasure"

    id: Mapped[int] = mapped_column(primary_key=True)
    customer_id: Mapped[int] = mapped_column(sa.ForeignKey("customer.id"), unique=True)
    at: Mapped[datetime]
    by_name: Mapped[str]
    why: Mapped[str]
    settled_words: Mapped[str] = mapped_column(default="")  # how a sum that the records show as unpaid was settled since
    jurisdiction: Mapped[str]
    told: Mapped[dict[str, Any]] = mapped_column(sa.JSON)

    customer: Mapped[Customer] = relationship()
    papers: Mapped[list[KeptPaper]] = relationship(back_populates="erasure", order_by="KeptPaper.id")

    __table_args__ = (sa.CheckConstraint("why <> ''", name="says_why"),)


class KeptPaper(Base):
    """An issued paper that still names an erased person because it must be kept: until when, why, and that it was removed."""

    __tablename__ = "kept_paper"

    id: Mapped[int] = mapped_column(primary_key=True)
    erasure_id: Mapped[int] = mapped_column(sa.ForeignKey("erasure.id"), index=True)
    document_id: Mapped[int] = mapped_column(sa.ForeignKey("issued_document.id"), index=True)
    until: Mapped[date]
    why: Mapped[str]
    removed_at: Mapped[datetime | None]

    erasure: Mapped[Erasure] = relationship(back_populates="papers")
    document: Mapped[IssuedDocument] = relationship()

    __table_args__ = (sa.CheckConstraint("why <> ''", name="says_why"),)
