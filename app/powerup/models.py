"""A run of first power-up: what was entered at each step, rounds of bias readings, aborts, trials."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, words
from app.powerup.rules.items import Biased
from app.powerup.rules.trials import TrialKind, Tried

if TYPE_CHECKING:
    from app.findings.models.findings import Finding
    from app.measuring.models import Reading


class PowerUpRun(Base):
    """One run over the sixteen steps, with what is known of the amp. A run that was stopped says why; a finished one does not."""

    __tablename__ = "power_up_run"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    number: Mapped[int]
    valve: Mapped[str]  # the type of the output valves
    marks: Mapped[str]  # V5, V6
    small: Mapped[str] = mapped_column(default="")
    biased: Mapped[Biased] = mapped_column(words(Biased))
    silicon: Mapped[bool] = mapped_column(default=True)  # the rectifier
    heater_v: Mapped[float]
    load_ohm: Mapped[float | None]
    expected_w: Mapped[float | None]
    expected_source: Mapped[str] = mapped_column(default="")
    started_at: Mapped[datetime]
    started_by: Mapped[str]
    ended_at: Mapped[datetime | None]
    ended_by: Mapped[str] = mapped_column(default="")
    stopped_why: Mapped[str] = mapped_column(default="")

    entries: Mapped[list[PowerUpEntry]] = relationship(order_by="PowerUpEntry.id", back_populates="run")
    aborts: Mapped[list[PowerUpAbort]] = relationship(order_by="PowerUpAbort.id", back_populates="run")

    __table_args__ = (
        sa.UniqueConstraint("order_id", "number"),
        sa.CheckConstraint("valve <> '' AND marks <> ''", name="names_its_valves"),
        sa.CheckConstraint("expected_w IS NULL OR expected_source <> ''", name="expected_has_source"),
        sa.CheckConstraint("ended_at IS NOT NULL OR stopped_why = ''", name="stopped_has_time"),
        sa.Index("uq_power_up_run_one_open", "order_id", unique=True, sqlite_where=sa.text("ended_at IS NULL"),
                 postgresql_where=sa.text("ended_at IS NULL")),
    )

    @property
    def finished(self) -> bool:
        return self.ended_at is not None and not self.stopped_why


class PowerUpEntry(Base):
    """What was seen, read or left unjudged at one item of a step. A later one stands in its place."""

    __tablename__ = "power_up_entry"

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(sa.ForeignKey("power_up_run.id"), index=True)
    step: Mapped[int]
    item: Mapped[str]
    seen: Mapped[bool | None]
    words: Mapped[str] = mapped_column(default="")
    reading_id: Mapped[int | None] = mapped_column(sa.ForeignKey("reading.id"), unique=True)
    round_id: Mapped[int | None] = mapped_column(sa.ForeignKey("bias_round.id"), unique=True)
    left_why: Mapped[str] = mapped_column(default="")  # why it is not judged
    level: Mapped[float | None]  # what a tester worked with: A through an earth, V on an insulation
    at: Mapped[datetime]
    by_name: Mapped[str]

    run: Mapped[PowerUpRun] = relationship(back_populates="entries")
    reading: Mapped[Reading | None] = relationship("Reading")
    round: Mapped[BiasRound | None] = relationship(back_populates="entry")

    __table_args__ = (
        sa.CheckConstraint("CASE WHEN seen IS NULL THEN 0 ELSE 1 END + CASE WHEN reading_id IS NULL THEN 0 ELSE 1 END"
                           " + CASE WHEN round_id IS NULL THEN 0 ELSE 1 END + CASE WHEN left_why = '' THEN 0 ELSE 1 END = 1",
                           name="one_kind_of_entry"),
        sa.CheckConstraint("seen IS NULL OR seen OR words <> ''", name="a_no_has_words"),
    )


class BiasRound(Base):
    """All output valves read at one time, with the volts they stand at. `moment`: minutes into the soak run."""

    __tablename__ = "bias_round"

    id: Mapped[int] = mapped_column(primary_key=True)
    anode_id: Mapped[int] = mapped_column(sa.ForeignKey("reading.id"))
    screen_id: Mapped[int | None] = mapped_column(sa.ForeignKey("reading.id"))
    cathode_id: Mapped[int | None] = mapped_column(sa.ForeignKey("reading.id"))
    grid_id: Mapped[int | None] = mapped_column(sa.ForeignKey("reading.id"))
    cold_end_v: Mapped[float | None]
    hot_end_v: Mapped[float | None]
    load_aa_ohm: Mapped[float | None]
    moment: Mapped[int | None]
    soak_id: Mapped[int | None] = mapped_column(sa.ForeignKey("soak_run.id"))

    anode: Mapped[Reading] = relationship("Reading", foreign_keys=[anode_id])
    screen: Mapped[Reading | None] = relationship("Reading", foreign_keys=[screen_id])
    cathode: Mapped[Reading | None] = relationship("Reading", foreign_keys=[cathode_id])
    grid: Mapped[Reading | None] = relationship("Reading", foreign_keys=[grid_id])
    valves: Mapped[list[BiasReading]] = relationship(order_by="BiasReading.id", back_populates="round")
    entry: Mapped[PowerUpEntry] = relationship(back_populates="round")

    __table_args__ = (sa.CheckConstraint("(moment IS NULL) = (soak_id IS NULL)", name="moment_of_a_soak"),)


class BiasReading(Base):
    """Cathode current of one valve, and its screen current where it was read."""

    __tablename__ = "bias_reading"

    id: Mapped[int] = mapped_column(primary_key=True)
    round_id: Mapped[int] = mapped_column(sa.ForeignKey("bias_round.id"), index=True)
    mark: Mapped[str]
    current_id: Mapped[int] = mapped_column(sa.ForeignKey("reading.id"), unique=True)
    screen_id: Mapped[int | None] = mapped_column(sa.ForeignKey("reading.id"), unique=True)

    round: Mapped[BiasRound] = relationship(back_populates="valves")
    current: Mapped[Reading] = relationship("Reading", foreign_keys=[current_id])
    screen: Mapped[Reading | None] = relationship("Reading", foreign_keys=[screen_id])

    __table_args__ = (sa.UniqueConstraint("round_id", "mark"),)


class PowerUpAbort(Base):
    """A step was aborted: the finding it opened, and what was expected when the run went on. `last_entry`: the newest by then."""

    __tablename__ = "power_up_abort"

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(sa.ForeignKey("power_up_run.id"), index=True)
    step: Mapped[int]
    finding_id: Mapped[int] = mapped_column(sa.ForeignKey("finding.id"))
    last_entry: Mapped[int]
    at: Mapped[datetime]
    by_name: Mapped[str]
    hypothesis: Mapped[str] = mapped_column(default="")
    resumed_from: Mapped[int | None]
    resumed_at: Mapped[datetime | None]
    resumed_by: Mapped[str] = mapped_column(default="")

    run: Mapped[PowerUpRun] = relationship(back_populates="aborts")
    finding: Mapped[Finding] = relationship("Finding")

    __table_args__ = (
        sa.CheckConstraint("(resumed_at IS NULL) = (hypothesis = '')", name="resumed_with_hypothesis"),
        sa.CheckConstraint("(resumed_at IS NULL) = (resumed_from IS NULL)", name="resumed_from_a_step"),
    )


class PowerUpTrial(Base):
    """So many cold starts, taps or other trials, and in how many of them the fault showed."""

    __tablename__ = "power_up_trial"

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(sa.ForeignKey("power_up_run.id"), index=True)
    kind: Mapped[TrialKind] = mapped_column(words(TrialKind))
    trials: Mapped[int]
    shown: Mapped[int]
    words: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (
        sa.CheckConstraint("trials > 0 AND shown >= 0 AND shown <= trials", name="shown_in_trials"),
        sa.CheckConstraint("shown = 0 OR words <> ''", name="shown_has_words"),
    )

    @property
    def tried(self) -> Tried:
        return Tried(self.kind, self.trials, self.shown)


class PowerUpMains(Base):
    """What the mains transformer of a run is asked for; a later one replaces it. SI units, None where it is not known."""

    __tablename__ = "power_up_mains"

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(sa.ForeignKey("power_up_run.id"), index=True)
    heaters: Mapped[str]
    heater_winding_a: Mapped[float | None]
    ht_vrms: Mapped[float | None]
    rectifier: Mapped[str]
    source_ohm: Mapped[float | None]
    reservoir_farad: Mapped[float | None]
    ht_a: Mapped[float | None]
    rated_va: Mapped[float | None]
    no_load_a: Mapped[float | None]
    no_load_source: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (
        sa.CheckConstraint("heaters <> '' AND rectifier <> ''", name="says_what_hangs_on_it"),
        sa.CheckConstraint("no_load_a IS NULL OR no_load_source <> ''", name="no_load_has_source"),
    )


class PowerUpWaiver(Base):
    """Why an amp may leave without a finished run, in the owner's words and under their name."""

    __tablename__ = "power_up_waiver"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    reason: Mapped[str]
    at: Mapped[datetime]
    by_name: Mapped[str]

    __table_args__ = (sa.CheckConstraint("reason <> ''", name="says_why"),)
