"""Lines, revisions, answers and acknowledgements. Issued revisions, their lines and decisions are never changed."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column, relationship

from app.db import Base, words
from app.orders.models import Channel
from app.quote.rules.costs import in_all
from app.quote.rules.lines import Hours, Priced, Sums
from app.quote.rules.words import HowAcknowledged, LineGroup, OldParts, PartCondition, WorkKind, asked
from app.shop.tax_columns import TaxColumns

if TYPE_CHECKING:
    from app.orders.models import CostAuthority

_LINE_CHECKS = (
    ("what <> ''", "says_what"),
    ("hours_low >= 0 AND hours_likely >= hours_low AND hours_high >= hours_likely", "hours_in_order"),
    ("rate_minor >= 0 AND labour_minor >= 0 AND parts_minor >= 0", "money_not_negative"),
    ("parts_minor = 0 OR parts <> ''", "parts_named"),
    ("parts = '' OR condition IS NOT NULL", "parts_have_condition"),
    ("kind <> 'modification' OR consequence <> ''", "modification_with_consequence"),
    ("warranty_days >= 0", "warranty_not_negative"),
)


class _LineFacts:
    """What a line says, in draft as in the frozen revision. Money in minor units before tax, hours as floats."""

    group: Mapped[LineGroup] = mapped_column("line_group", words(LineGroup))
    what: Mapped[str]
    hours_low: Mapped[float]
    hours_likely: Mapped[float]
    hours_high: Mapped[float]
    rate_minor: Mapped[int]
    rate_name: Mapped[str] = mapped_column(default="")  # of the price list; empty: the usual rate
    labour_minor: Mapped[int]
    parts: Mapped[str] = mapped_column(default="")
    parts_minor: Mapped[int] = mapped_column(default=0)
    condition: Mapped[PartCondition | None] = mapped_column(words(PartCondition))
    kind: Mapped[WorkKind] = mapped_column(words(WorkKind))
    consequence: Mapped[str] = mapped_column(default="")
    warranty_days: Mapped[int] = mapped_column(default=0)

    @property
    def hours(self) -> Hours:
        return Hours(self.hours_low, self.hours_likely, self.hours_high)

    @property
    def priced(self) -> Priced:
        return Priced(self.hours, self.rate_minor, self.labour_minor, self.parts_minor)

    @property
    def net_minor(self) -> int:
        return self.labour_minor + self.parts_minor


class QuoteLine(_LineFacts, Base):
    """One line of the draft. A changed line is a new one that names the one it takes the place of."""

    __tablename__ = "quote_line"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    finding_id: Mapped[int | None] = mapped_column(sa.ForeignKey("finding.id"), index=True)
    first_id: Mapped[int | None] = mapped_column(sa.ForeignKey("quote_line.id"), index=True)  # None: it is the first itself
    takes_place_of_id: Mapped[int | None] = mapped_column(sa.ForeignKey("quote_line.id"), unique=True)
    position: Mapped[int]
    parts_cost_minor: Mapped[int | None]  # what the parts cost the shop, where that made their price
    added_at: Mapped[datetime]
    added_by: Mapped[str]
    withdrawn_at: Mapped[datetime | None]
    withdrawn_by: Mapped[str] = mapped_column(default="")
    withdrawn_reason: Mapped[str] = mapped_column(default="")

    later: Mapped[QuoteLine | None] = relationship(foreign_keys=[takes_place_of_id], back_populates="earlier")
    earlier: Mapped[QuoteLine | None] = relationship(foreign_keys=[takes_place_of_id], remote_side=[id],
                                                     back_populates="later")

    __table_args__ = (
        *(sa.CheckConstraint(text, name=name) for text, name in _LINE_CHECKS),
        sa.CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name="withdrawn_with_reason"),
        sa.CheckConstraint("(takes_place_of_id IS NULL) = (first_id IS NULL)", name="chain_has_first"),
    )

    @property
    def line_root_id(self) -> int:
        """The same for a line and for all that took its place: what a part or a decision is about."""
        return self.first_id or self.id

    @property
    def version(self) -> int:
        """What a page was opened with: whatever took the place of a line has another."""
        return self.id

    @property
    def newest(self) -> QuoteLine:
        """The line that stands in this place now."""
        line = self
        while line.later is not None:
            line = line.later
        return line


class Quote(TaxColumns, Base):
    """One issued revision: its sums, how long it holds and what could change it. Frozen."""

    __tablename__ = "quote"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    number: Mapped[int]
    replaces_id: Mapped[int | None] = mapped_column(sa.ForeignKey("quote.id"), unique=True)
    issued_at: Mapped[datetime]
    issued_by: Mapped[str]
    valid_until: Mapped[date]
    currency: Mapped[str]
    net_minor: Mapped[int]
    tax_name: Mapped[str]
    tax_rate_bp: Mapped[int]
    tax_minor: Mapped[int]  # all of it
    second_tax_minor: Mapped[int] = mapped_column(default=0)  # what of it is the second tax
    total_minor: Mapped[int]
    diagnosis_minor: Mapped[int]  # agreed at intake, tax included
    diagnosis_credited: Mapped[bool]  # it counts towards the repair, else it comes on top
    maximum_minor: Mapped[int]  # of the lines, tax included
    hours_p50: Mapped[float]
    hours_p80: Mapped[float]
    hours_p90: Mapped[float]
    range_words: Mapped[str]
    days_to_complete: Mapped[int]
    could_change: Mapped[str]
    assumptions: Mapped[str] = mapped_column(default="")
    old_parts: Mapped[OldParts] = mapped_column(words(OldParts))
    decline_fee_minor: Mapped[int]
    declining_means: Mapped[str] = mapped_column(default="")

    lines: Mapped[list[IssuedLine]] = relationship(back_populates="quote", order_by="IssuedLine.position")
    replaces: Mapped[Quote | None] = relationship(remote_side=[id])

    __table_args__ = (
        sa.UniqueConstraint("order_id", "number"),
        sa.CheckConstraint("number >= 1 AND (number = 1) = (replaces_id IS NULL)", name="replaces_the_one_before"),
        sa.CheckConstraint("net_minor >= 0 AND tax_minor >= 0 AND diagnosis_minor >= 0 AND decline_fee_minor >= 0",
                           name="money_not_negative"),
        sa.CheckConstraint("total_minor = net_minor + tax_minor", name="total_adds_up"),
        sa.CheckConstraint("maximum_minor >= total_minor", name="maximum_covers_total"),
        sa.CheckConstraint("days_to_complete >= 0", name="days_not_negative"),
        sa.CheckConstraint("could_change <> ''", name="says_what_could_change"),
    )

    @property
    def sums(self) -> Sums:
        return Sums(self.net_minor, self.tax_minor, self.second_tax_minor)

    @property
    def in_all_minor(self) -> int:
        """What the customer pays if all is agreed to and goes as quoted, tax included."""
        return in_all(self.total_minor, self.diagnosis_minor, credited=self.diagnosis_credited)

    @property
    def at_most_minor(self) -> int:
        """What the customer pays at most, tax included."""
        return in_all(self.maximum_minor, self.diagnosis_minor, credited=self.diagnosis_credited)


class IssuedLine(_LineFacts, Base):
    """A line as it was issued, with what was known of its finding then. Frozen."""

    __tablename__ = "quote_issued_line"

    id: Mapped[int] = mapped_column(primary_key=True)
    quote_id: Mapped[int] = mapped_column(sa.ForeignKey("quote.id"), index=True)
    line_id: Mapped[int] = mapped_column(sa.ForeignKey("quote_line.id"), index=True)
    line_root_id: Mapped[int] = mapped_column(index=True)
    position: Mapped[int]
    finding_id: Mapped[int | None] = mapped_column(sa.ForeignKey("finding.id"), index=True)
    finding_words: Mapped[str] = mapped_column(default="")
    risk: Mapped[str] = mapped_column(default="")
    declined_before: Mapped[bool] = mapped_column(default=False)  # by the answer that stood: named here, not in the sums

    quote: Mapped[Quote] = relationship(back_populates="lines")

    __table_args__ = (
        *(sa.CheckConstraint(text, name=name) for text, name in _LINE_CHECKS),
        sa.UniqueConstraint("quote_id", "line_id"),
        sa.CheckConstraint("risk IN ('', 'S', 'H', 'M', 'L', 'N')", name="risk_known"),
    )

    @property
    def counted(self) -> bool:
        """Whether it is in the sums of its revision."""
        return asked(self.group) and not self.declined_before


class Authorisation(Base):
    """What the customer answered to one revision. The ceiling stands in the order's ledger of authority. Frozen."""

    __tablename__ = "quote_authorisation"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    quote_id: Mapped[int] = mapped_column(sa.ForeignKey("quote.id"), index=True)
    authority_id: Mapped[int] = mapped_column(sa.ForeignKey("authority.id"), unique=True)
    by_name: Mapped[str]
    channel: Mapped[Channel] = mapped_column(words(Channel, "answer_channel"))
    reached_at: Mapped[str] = mapped_column(default="")
    agreed_at: Mapped[datetime]
    taken_by: Mapped[str]
    signature: Mapped[str] = mapped_column(default="")  # SVG path in a 640 × 200 field
    on_paper: Mapped[bool] = mapped_column(default=False)
    typed: Mapped[bool] = mapped_column(default=False)  # they typed their name in place of a signature
    conditions: Mapped[str] = mapped_column(default="")
    net_minor: Mapped[int]
    tax_minor: Mapped[int]
    total_minor: Mapped[int]
    added_minor: Mapped[int]  # against the total agreed to before
    recorded_at: Mapped[datetime]

    quote: Mapped[Quote] = relationship()
    authority: Mapped[CostAuthority] = relationship("CostAuthority")
    decisions: Mapped[list[Decision]] = relationship(back_populates="authorisation", order_by="Decision.id")

    __table_args__ = (
        sa.CheckConstraint("total_minor = net_minor + tax_minor AND net_minor >= 0 AND tax_minor >= 0", name="total_adds_up"),
        sa.CheckConstraint("channel NOT IN ('phone', 'e-mail') OR reached_at <> ''", name="reached_somewhere"),
        sa.CheckConstraint("channel <> 'signature' OR signature <> '' OR on_paper OR typed", name="signature_kept"),
    )


class Decision(Base):
    """Agreed or declined: the answer to one line of a revision. Frozen."""

    __tablename__ = "quote_decision"

    id: Mapped[int] = mapped_column(primary_key=True)
    authorisation_id: Mapped[int] = mapped_column(sa.ForeignKey("quote_authorisation.id"), index=True)
    issued_line_id: Mapped[int] = mapped_column(sa.ForeignKey("quote_issued_line.id"))
    agreed: Mapped[bool]

    authorisation: Mapped[Authorisation] = relationship(back_populates="decisions")
    line: Mapped[IssuedLine] = relationship()

    __table_args__ = (sa.UniqueConstraint("authorisation_id", "issued_line_id"),)


class DeclinedWork(Base):
    """The customer's word under what declining a line of safety means. Frozen."""

    __tablename__ = "declined_work"

    id: Mapped[int] = mapped_column(primary_key=True)
    order_id: Mapped[int] = mapped_column(sa.ForeignKey("repair_order.id"), index=True)
    line_id: Mapped[int] = mapped_column(sa.ForeignKey("quote_line.id"), unique=True)
    issued_line_id: Mapped[int] = mapped_column(sa.ForeignKey("quote_issued_line.id"))
    finding_id: Mapped[int | None] = mapped_column(sa.ForeignKey("finding.id"), index=True)
    risk: Mapped[str] = mapped_column(default="")
    hazard: Mapped[str]
    advice: Mapped[str]
    made_safe: Mapped[str]
    tag: Mapped[str] = mapped_column(default="")
    how: Mapped[HowAcknowledged] = mapped_column(words(HowAcknowledged))
    signer_name: Mapped[str]
    signature: Mapped[str] = mapped_column(default="")  # SVG path in a 640 × 200 field
    witness: Mapped[str] = mapped_column(default="")
    at: Mapped[datetime]
    by_name: Mapped[str]

    line: Mapped[IssuedLine] = relationship()

    __table_args__ = (
        sa.CheckConstraint("hazard <> '' AND advice <> '' AND made_safe <> '' AND signer_name <> ''", name="says_all"),
        sa.CheckConstraint("(how = 'signed on the screen') = (signature <> '')", name="pen_on_screen"),
        sa.CheckConstraint("(how = 'refused to sign') = (witness <> '')", name="refusal_witnessed"),
    )
