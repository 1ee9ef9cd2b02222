"""The shop's own words for usual findings: a row here stands in place of the shipped entry of the same code."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base, Versioned, words
from app.findings.rules.life import Area, Disposition, Origin


class UsualFinding(Versioned, Base):
    """A usual finding as this shop says it."""

    __tablename__ = "usual_finding"

    id: Mapped[int] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(unique=True)
    area: Mapped[Area] = mapped_column(words(Area))
    short: Mapped[str]
    observation: Mapped[str]
    cause: Mapped[str] = mapped_column(default="")
    origin: Mapped[Origin] = mapped_column(words(Origin))
    hazard: Mapped[str] = mapped_column(default="")
    severity: Mapped[int]
    probability: Mapped[str | None]
    equipment_severity: Mapped[int | None]
    function_severity: Mapped[int | None]
    disposition: Mapped[Disposition] = mapped_column(words(Disposition))
    disposition_words: Mapped[str] = mapped_column(default="")
    check_words: Mapped[str] = mapped_column(default="")
    signs: Mapped[str] = mapped_column(default="")
    retired: Mapped[bool] = mapped_column(default=False)
    changed_at: Mapped[datetime]
    changed_by: Mapped[str]

    __table_args__ = (
        sa.CheckConstraint("code <> '' AND short <> '' AND observation <> ''", name="says_what"),
        sa.CheckConstraint("severity BETWEEN 0 AND 4", name="severity_known"),
        sa.CheckConstraint("(severity = 0) = (probability IS NULL)", name="injury_has_probability"),
        sa.CheckConstraint("probability IS NULL OR probability IN ('a','b','c','d','e','f','g','h')",
                           name="probability_known"),
    )
