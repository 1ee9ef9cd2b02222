"""Sheets, their blocks, what is entered of each, and volts that a schematic prints."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.circuits.rules.blocks import Block, Given, Kind, Sheet
from app.circuits.rules.compare import Printed, Source
from app.circuits.rules.work import METER_OHM
from app.db import Base, Versioned, words


class AmpSheet(Versioned, Base):
    """The sheet of one repair's amp, or, without an order, of a model as it was kept: then it never changes.

    whole: everything that draws from the supply is on it. mains_v: as measured at the amp; meter_ohm: the meter's input.
    speaks: the source that readings are held against where several say something.
    """

    __tablename__ = "amp_sheet"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int | None] = mapped_column(sa.ForeignKey("repair_order.id"), index=True, unique=True)
    maker: Mapped[str]
    model: Mapped[str]
    copied_from_id: Mapped[int | None] = mapped_column(sa.ForeignKey("amp_sheet.id"), index=True)
    kept_from_id: Mapped[int | None] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    whole: Mapped[bool] = mapped_column(default=False)
    mains_v: Mapped[float | None]
    meter_ohm: Mapped[float] = mapped_column(default=METER_OHM)
    speaks: Mapped[Source] = mapped_column(words(Source), default=Source.CALCULATED)
    at: Mapped[datetime]
    by_name: Mapped[str]

    blocks: Mapped[list[SheetBlock]] = relationship(back_populates="sheet", order_by="SheetBlock.id")
    printed: Mapped[list[PrintedVolts]] = relationship(back_populates="sheet", order_by="PrintedVolts.id")

    __table_args__ = (
        sa.CheckConstraint("(order_id IS NULL) <> (kept_from_id IS NULL)", name="of_an_order_or_kept_from_one"),
        sa.CheckConstraint("mains_v IS NULL OR (mains_v > 0 AND mains_v <= 300)", name="mains_sensible"),
        sa.CheckConstraint("meter_ohm >= 1000", name="meter_sensible"),
    )

    @property
    def shown(self) -> list[SheetBlock]:
        """The blocks that stand, from the mains to the heaters."""
        order = list(Kind)
        return sorted((one for one in self.blocks if one.withdrawn_at is None), key=lambda one: (order.index(one.kind), one.id))

    @property
    def prints(self) -> list[PrintedVolts]:
        """The printed volts that stand."""
        return [one for one in self.printed if one.withdrawn_at is None]

    @property
    def as_entered(self) -> Sheet:
        """The sheet as it was typed, without what the boards say."""
        return Sheet(tuple(one.as_entered for one in self.shown), self.whole)


class SheetBlock(Versioned, Base):
    """One block under its own name; other blocks are wired to that name."""

    __tablename__ = "sheet_block"

    id: Mapped[int] = mapped_column(primary_key=True)
    sheet_id: Mapped[int] = mapped_column(sa.ForeignKey("amp_sheet.id"), index=True)
    kind: Mapped[Kind] = mapped_column(words(Kind))
    name: Mapped[str]
    at: Mapped[datetime]
    by_name: Mapped[str]
    withdrawn_at: Mapped[datetime | None]
    withdrawn_reason: Mapped[str] = mapped_column(default="")

    sheet: Mapped[AmpSheet] = relationship(back_populates="blocks")
    values: Mapped[list[BlockValue]] = relationship(back_populates="block", order_by="BlockValue.id")

    __table_args__ = (
        sa.CheckConstraint("name <> ''", name="has_name"),
        sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name="withdrawn_with_reason"),
        sa.Index("uq_sheet_block_standing", "sheet_id", "name", unique=True, sqlite_where=sa.text("withdrawn_at IS NULL"),
                 postgresql_where=sa.text("withdrawn_at IS NULL")),
    )

    @property
    def as_entered(self) -> Block:
        """The block as a frozen value."""
        return Block(self.kind, self.name, tuple((one.field, one.given) for one in self.values if one.said), self.id)


class BlockValue(Base):
    """What is entered for one field of a block: a number in its SI unit or a word; of a part its place and tolerance."""

    __tablename__ = "block_value"

    id: Mapped[int] = mapped_column(primary_key=True)
    block_id: Mapped[int] = mapped_column(sa.ForeignKey("sheet_block.id"), index=True)
    field: Mapped[str]
    number: Mapped[float | None]
    word: Mapped[str] = mapped_column(default="")
    reference: Mapped[str] = mapped_column(default="")
    tolerance: Mapped[float | None]

    block: Mapped[SheetBlock] = relationship(back_populates="values")

    __table_args__ = (
        sa.UniqueConstraint("block_id", "field"),
        sa.CheckConstraint("field <> ''", name="has_field"),
        sa.CheckConstraint("number IS NULL OR word = ''", name="number_or_word"),
        sa.CheckConstraint("tolerance IS NULL OR (tolerance > 0 AND tolerance < 1)", name="tolerance_fraction"),
    )

    @property
    def given(self) -> Given:
        """The same as a frozen value."""
        return Given(self.number, self.word, self.reference, self.tolerance)

    @property
    def said(self) -> bool:
        """Whether anything is entered."""
        return self.number is not None or bool(self.word) or bool(self.reference)


class PrintedVolts(Base):
    """Volts that a schematic prints at a node, at the volts of the tap. Withdrawn, not changed; it follows its node's name."""

    __tablename__ = "printed_volts"

    id: Mapped[int] = mapped_column(primary_key=True)
    sheet_id: Mapped[int] = mapped_column(sa.ForeignKey("amp_sheet.id"), index=True)
    node: Mapped[str]
    volt: Mapped[float]
    tolerance: Mapped[float]
    said: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]
    withdrawn_at: Mapped[datetime | None]

    sheet: Mapped[AmpSheet] = relationship(back_populates="printed")

    __table_args__ = (
        sa.CheckConstraint("node <> ''", name="has_node"),
        sa.CheckConstraint("tolerance > 0 AND tolerance < 1", name="tolerance_fraction"),
        sa.Index("uq_printed_volts_standing", "sheet_id", "node", unique=True, sqlite_where=sa.text("withdrawn_at IS NULL"),
                 postgresql_where=sa.text("withdrawn_at IS NULL")),
    )

    @property
    def value(self) -> Printed:
        """The same as a frozen value."""
        return Printed(self.node, self.volt, self.tolerance, self.said)
