"""Findings: evidence, hazard, decision, proof."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base, Versioned, words
from app.findings.rules.life import Area, Confidence, DecidedBy, Disposition, Origin, Status
from app.findings.rules.risk import Risk, risk_of
from app.findings.rules.signs import Sign, signs_in

SAID = 60  # signs of a finding's own words where it is only named


class Finding(Versioned, Base):
    """One thing found. It ends proved, declined in writing or withdrawn with reason; risk and status are derived."""

    __tablename__ = "finding"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    number: Mapped[int]
    code: Mapped[str] = mapped_column(default="")  # of the shop's catalogue of usual findings
    area: Mapped[Area] = mapped_column(words(Area))
    place: Mapped[str] = mapped_column(default="")
    observation: Mapped[str]
    cause: Mapped[str] = mapped_column(default="")
    confidence: Mapped[Confidence] = mapped_column(words(Confidence), default=Confidence.PROBABLE)
    origin: Mapped[Origin] = mapped_column(words(Origin), default=Origin.WEAR)
    hazard: Mapped[str] = mapped_column(default="")
    severity: Mapped[int | None]
    probability: Mapped[str | None]
    equipment_severity: Mapped[int | None]
    function_severity: Mapped[int | None]
    check_words: Mapped[str] = mapped_column(default="")
    signs: Mapped[str] = mapped_column(default="")
    track: Mapped[str] = mapped_column(default="")  # valve and pins of an arc track: "6L6GC 3-2"
    recorded_at: Mapped[datetime]
    recorded_by: Mapped[str]

    disposition: Mapped[Disposition | None] = mapped_column(words(Disposition))
    disposition_words: Mapped[str] = mapped_column(default="")
    authority: Mapped[DecidedBy | None] = mapped_column(words(DecidedBy, "authority"))
    decided_at: Mapped[datetime | None]
    decided_by: Mapped[str | None]
    acted_at: Mapped[datetime | None]
    acted_by: Mapped[str | None]
    acted_words: Mapped[str] = mapped_column(default="")
    proved_at: Mapped[datetime | None]
    proved_by: Mapped[str | None]
    proof_words: Mapped[str] = mapped_column(default="")
    proof_instrument: Mapped[str] = mapped_column(default="")
    declined_at: Mapped[datetime | None]
    declined_by: Mapped[str | None]
    decline_paper: Mapped[str] = mapped_column(default="")
    advised: Mapped[Disposition | None] = mapped_column(words(Disposition, "advised"))
    withdrawn_at: Mapped[datetime | None]
    withdrawn_by: Mapped[str | None]
    withdrawn_reason: Mapped[str] = mapped_column(default="")

    __table_args__ = (
        sa.UniqueConstraint("order_id", "number"),
        sa.CheckConstraint("number > 0", name="number_positive"),
        sa.CheckConstraint("observation <> ''", name="says_what_was_seen"),
        sa.CheckConstraint("severity IS NULL OR severity BETWEEN 0 AND 4", name="severity_known"),
        sa.CheckConstraint("probability IS NULL OR probability IN ('a','b','c','d','e','f','g','h')",
                           name="probability_known"),
        sa.CheckConstraint("(COALESCE(severity, 0) = 0) = (probability IS NULL)", name="injury_has_probability"),
        sa.CheckConstraint("equipment_severity IS NULL OR equipment_severity BETWEEN 1 AND 4", name="equipment_known"),
        sa.CheckConstraint("function_severity IS NULL OR function_severity BETWEEN 0 AND 3", name="function_known"),
        sa.CheckConstraint("(disposition IS NULL) = (decided_at IS NULL)", name="decision_has_time"),
        sa.CheckConstraint("acted_at IS NULL OR acted_words <> ''", name="act_has_words"),
        sa.CheckConstraint("proved_at IS NULL OR proof_words <> ''", name="proof_has_words"),
        sa.CheckConstraint("(declined_at IS NOT NULL) = (COALESCE(disposition, '') = 'customer_declined')",
                           name="declined_is_decided"),
        sa.CheckConstraint("declined_at IS NULL OR decline_paper <> ''", name="declined_in_writing"),
        sa.CheckConstraint("withdrawn_at IS NULL OR withdrawn_reason <> ''", name="withdrawn_with_reason"),
        sa.CheckConstraint(" + ".join(f"CASE WHEN {end} IS NULL THEN 0 ELSE 1 END" for end in
                                      ("proved_at", "declined_at", "withdrawn_at")) + " <= 1", name="ends_once"),
    )

    @property
    def risk(self) -> Risk | None:
        """Computed from severity and probability; None while they are not both said."""
        return risk_of(self.severity, self.probability)

    @property
    def sign_set(self) -> frozenset[Sign]:
        """The signs that were seen."""
        return signs_in(self.signs)

    @property
    def status(self) -> Status:
        """Where it stands, from what happened to it."""
        for moment, status in ((self.withdrawn_at, Status.WITHDRAWN), (self.declined_at, Status.DECLINED),
                               (self.proved_at, Status.PROVED), (self.acted_at, Status.ACTED_ON),
                               (self.decided_at, Status.DECIDED)):
            if moment is not None:
                return status
        return Status.OPEN

    @property
    def title(self) -> str:
        return f"Finding {self.number}"

    @property
    def called(self) -> str:
        """Number and words, for lists that stand away from the finding."""
        words = self.observation.rstrip(".")
        return f"{self.title}, “{words if len(words) <= SAID else words[:SAID - 1].rstrip() + '…'}”"
