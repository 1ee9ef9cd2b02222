"""The capacitors that hold a charge when the plug is out, and what a meter of the register showed on each after discharge."""

from __future__ import annotations

from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, words
from app.discharge.rules.listing import Capacitor, Origin, Supply
from app.kept.models import KeptSum
from app.measuring.models import Instrument
from app.measuring.rules import Relation, Standing, say, say_read, say_uncertainty


class SupplyList(Base):
    """Every capacitor of the HT supply and of the bias supply of the amp on an order. A later list replaces it whole."""

    __tablename__ = "supply_list"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    origin: Mapped[Origin] = mapped_column(words(Origin))
    origin_words: Mapped[str] = mapped_column(default="")  # which usual layout, which repair
    at: Mapped[datetime]
    by_name: Mapped[str]

    capacitors: Mapped[list[SupplyCapacitor]] = relationship(back_populates="supply_list", order_by="SupplyCapacitor.position")

    @property
    def has_bias(self) -> bool:
        return any(one.supply is Supply.BIAS for one in self.capacitors)

    def of(self, supply: Supply) -> list[SupplyCapacitor]:
        return [one for one in self.capacitors if one.supply is supply]

    @property
    def plain(self) -> tuple[Capacitor, ...]:
        """As the rules take it."""
        return tuple(one.plain for one in self.capacitors)


class SupplyCapacitor(Base):
    """One capacitor of a list: farads, volts working, the resistor (ohms) that feeds it from the one before, and its node."""

    __tablename__ = "supply_capacitor"

    id: Mapped[int] = mapped_column(primary_key=True)
    supply_list_id: Mapped[int] = mapped_column(sa.ForeignKey("supply_list.id"), index=True)
    position: Mapped[int]
    supply: Mapped[Supply] = mapped_column(words(Supply))
    name: Mapped[str]
    node: Mapped[str]
    farad: Mapped[float]
    working_v: Mapped[float]
    fed_ohm: Mapped[float | None]  # None for the first of its supply; 0 where it lies across the one before

    supply_list: Mapped[SupplyList] = relationship(back_populates="capacitors")

    __table_args__ = (
        sa.UniqueConstraint("supply_list_id", "name"),
        sa.UniqueConstraint("supply_list_id", "position"),
        sa.CheckConstraint("name <> '' AND node <> ''", name="named"),
        sa.CheckConstraint("farad > 0 AND working_v > 0 AND COALESCE(fed_ohm, 0) >= 0", name="sensible"),
    )

    @property
    def plain(self) -> Capacitor:
        return Capacitor(self.name, self.node, self.farad, self.working_v, self.fed_ohm, self.supply)

    @property
    def fed_words(self) -> str:
        """'through 22 kΩ', 'across the one before'; nothing for the first of its supply."""
        if self.fed_ohm is None:
            return ""
        return f"through {say(self.fed_ohm, 'Ω')}" if self.fed_ohm else "across the one before"

    @property
    def words(self) -> str:
        """'C2, 47 µF 500 V'."""
        return f"{self.name}, {say(self.farad, 'F')} {say(self.working_v, 'V')}"


class DischargeRecord(Base):
    """One round of measuring after a discharge: what it was discharged with, and the meter, proved before and after.

    It shows the supply discharged only while it holds a reading below the limit for every capacitor of the order's newest list,
    with the meter proved both times, and the amp was not powered since.
    """

    __tablename__ = "discharge_record"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    supply_list_id: Mapped[int] = mapped_column(sa.ForeignKey("supply_list.id"), index=True)
    limit_volts: Mapped[float]
    stick_ohm: Mapped[float | None]  # None: no stick, it bled by itself
    stick_w: Mapped[float | None]
    held_s: Mapped[float | None]
    instrument_id: Mapped[int] = mapped_column(sa.ForeignKey("instrument.id"), index=True)
    instrument_words: Mapped[str]  # name, kind and serial as they were
    due_on: Mapped[date | None]
    standing: Mapped[Standing] = mapped_column(words(Standing))
    proved_on: Mapped[str]  # the known source
    proved_before: Mapped[bool]
    proved_after: Mapped[bool]
    at: Mapped[datetime]
    by_name: Mapped[str]
    # The newest time on power before it; a later one ends it.
    last_power_id: Mapped[int | None] = mapped_column(sa.ForeignKey("power_up.id"))
    # What a kept calculation said of the charge, where the order used one: joules stored, seconds to discharge.
    stored_j: Mapped[float | None]
    stored_sum_id: Mapped[int | None] = mapped_column(sa.ForeignKey("kept_sum.id"))
    needs_s: Mapped[float | None]
    needs_sum_id: Mapped[int | None] = mapped_column(sa.ForeignKey("kept_sum.id"))

    stored_sum: Mapped[KeptSum | None] = relationship(foreign_keys=[stored_sum_id])
    needs_sum: Mapped[KeptSum | None] = relationship(foreign_keys=[needs_sum_id])
    supply_list: Mapped[SupplyList] = relationship()
    instrument: Mapped[Instrument] = relationship()
    readings: Mapped[list[DischargeReading]] = relationship(back_populates="record", order_by="DischargeReading.id")

    __table_args__ = (
        sa.CheckConstraint("limit_volts > 0", name="has_limit"),
        sa.CheckConstraint("instrument_words <> '' AND proved_on <> ''", name="says_with_what"),
        sa.CheckConstraint("(stick_ohm IS NULL) = (stick_w IS NULL)", name="stick_says_both"),
        sa.CheckConstraint("COALESCE(stick_ohm, 1) > 0 AND COALESCE(stick_w, 1) > 0 AND COALESCE(held_s, 0) >= 0",
                           name="stick_sensible"),
        sa.CheckConstraint("standing IN ('in date', 'due soon')", name="instrument_in_date"),
        sa.CheckConstraint("(stored_j IS NULL) = (stored_sum_id IS NULL) AND (needs_s IS NULL) = (needs_sum_id IS NULL)",
                           name="calculated_says_by_which"),
    )

    @property
    def calculated(self) -> list[tuple[str, KeptSum]]:
        """What it was expected to hold and to need, each with the calculation it comes from."""
        found = []
        if self.stored_j is not None and self.stored_sum is not None:
            found.append((f"stored {say(self.stored_j, 'J', 3)}", self.stored_sum))
        if self.needs_s is not None and self.needs_sum is not None:
            found.append((f"discharged after {say(self.needs_s, 's', 3)}", self.needs_sum))
        return found

    @property
    def stick_words(self) -> str:
        if self.stick_ohm is None:
            return "No stick"
        held = f" for {say(self.held_s, 's')}" if self.held_s else ""
        return f"Stick of {say(self.stick_ohm, 'Ω')} {say(self.stick_w, 'W')}{held}"


class DischargeReading(Base):
    """What the meter showed across one capacitor: volts with their sign, and its expanded uncertainty."""

    __tablename__ = "discharge_reading"

    id: Mapped[int] = mapped_column(primary_key=True)
    record_id: Mapped[int] = mapped_column(sa.ForeignKey("discharge_record.id"), index=True)
    capacitor_id: Mapped[int] = mapped_column(sa.ForeignKey("supply_capacitor.id"), index=True)
    typed: Mapped[str]
    value: Mapped[float]
    relation: Mapped[Relation] = mapped_column(words(Relation))
    accuracy_words: Mapped[str]
    uncertainty: Mapped[float]

    record: Mapped[DischargeRecord] = relationship(back_populates="readings")
    capacitor: Mapped[SupplyCapacitor] = relationship()

    __table_args__ = (
        sa.UniqueConstraint("record_id", "capacitor_id"),
        sa.CheckConstraint("typed <> '' AND accuracy_words <> ''", name="says_with_what"),
        sa.CheckConstraint("uncertainty >= 0", name="uncertainty_not_negative"),
    )

    @property
    def words(self) -> str:
        band = say_uncertainty(self.uncertainty, self.relation, "V")
        return say_read(self.value, self.relation, "V") + (f" {band}" if band else "")


class MadeSafe(Base):
    """As version 0.1 kept it: one reading at one place, the meter as free text. It stays readable and shows nothing discharged."""

    __tablename__ = "made_safe"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    volts: Mapped[float]
    limit_volts: Mapped[float]
    across: Mapped[str]
    instrument: Mapped[str]
    how: Mapped[str]
    at: Mapped[datetime]
    by_name: Mapped[str]
    last_power_id: Mapped[int | None] = mapped_column(sa.ForeignKey("power_up.id"))
    expired_at: Mapped[datetime | None]
    expired_by: Mapped[str | None]
    expired_reason: Mapped[str | None]

    __table_args__ = (
        sa.CheckConstraint("volts >= 0 AND volts < limit_volts", name="below_the_limit"),
        sa.CheckConstraint("instrument <> ''", name="with_an_instrument"),
        sa.CheckConstraint("(expired_at IS NULL) = (expired_reason IS NULL)", name="expired_with_reason"),
    )
