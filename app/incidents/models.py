"""Incidents and what was told about them. Rows are never changed: what is put right stands in a later one."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, words
from app.incidents.rules import Harm, Told
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer


class Incident(Base):
    """Who was hurt or could have been, by what, when, and what was done; with the duty to report as it was known then."""

    __tablename__ = "incident"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int | None] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    customer_id: Mapped[int | None] = mapped_column(sa.ForeignKey("customer.id"), index=True)
    amp_id: Mapped[int | None] = mapped_column(sa.ForeignKey("amp.id"), index=True)
    happened_at: Mapped[datetime]
    learned_at: Mapped[datetime]  # when the shop learned of it: the time for a report runs from it
    place: Mapped[str]
    who: Mapped[str]
    harm: Mapped[Harm] = mapped_column(words(Harm))
    what: Mapped[str]
    first_aid: Mapped[str] = mapped_column(default="")
    kept: Mapped[str] = mapped_column(default="")  # what was set aside and left as it was
    jurisdiction: Mapped[str]
    duty_words: Mapped[str]
    duty_to: Mapped[str] = mapped_column(default="")
    duty_source: Mapped[str]
    duty_address: Mapped[str] = mapped_column(default="")
    duty_read: Mapped[str]
    duty_checked: Mapped[date]
    due_at: Mapped[datetime | None]  # None: no period is known, or nobody was seriously hurt
    at: Mapped[datetime]
    by_name: Mapped[str]

    entries: Mapped[list[IncidentEntry]] = relationship(back_populates="incident", order_by="IncidentEntry.id")
    order: Mapped[RepairOrder | None] = relationship()
    customer: Mapped[Customer | None] = relationship()
    amp: Mapped[Amp | None] = relationship()

    __table_args__ = (
        sa.CheckConstraint("who <> '' AND what <> '' AND place <> ''", name="says_who_what_where"),
        sa.CheckConstraint("happened_at <= learned_at", name="learned_after_it_happened"),
    )

    @property
    def settled(self) -> bool:
        """Somebody has reported it, or has said why no report is due."""
        return any(entry.kind.settles for entry in self.entries)


class IncidentEntry(Base):
    """What was told to whom about an incident, when and how; or what is put right or added."""

    __tablename__ = "incident_entry"

    id: Mapped[int] = mapped_column(primary_key=True)
    incident_id: Mapped[int] = mapped_column(sa.ForeignKey("incident.id"), index=True)
    kind: Mapped[Told] = mapped_column(words(Told))
    whom: Mapped[str] = mapped_column(default="")
    what: Mapped[str]
    told_at: Mapped[datetime]
    proof: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    incident: Mapped[Incident] = relationship(back_populates="entries")

    __table_args__ = (
        sa.CheckConstraint("what <> ''", name="says_what"),
        sa.CheckConstraint("kind NOT IN ('told someone', 'reported as the law asks') OR whom <> ''", name="told_to_somebody"),
    )
