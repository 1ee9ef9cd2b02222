"""The shop's settings: one row."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import sqlalchemy as sa
from sqlalchemy.orm import Mapped, mapped_column

from app.db import Base, Versioned, words
from app.shop.opening_hours import USUAL, Opening, parse_opening
from app.shop.prices import Band, Rate, parse_bands, parse_rates
from app.shop.tax_columns import TaxColumns
from app.shop.wording import WORDS, Pack, Words


class Shop(TaxColumns, Versioned, Base):
    """What the owner has set. Exactly one row, id 1."""

    __tablename__ = "shop"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    address: Mapped[str]
    phone: Mapped[str]
    email: Mapped[str]
    licence: Mapped[str]
    tax_number: Mapped[str]
    wording: Mapped[Pack] = mapped_column(words(Pack), default=Pack.VALVE)
    currency: Mapped[str] = mapped_column(default="AUD")
    tax_name: Mapped[str] = mapped_column(default="GST")
    tax_rate_bp: Mapped[int] = mapped_column(default=1000)
    paper: Mapped[str] = mapped_column(default="A4")
    time_zone: Mapped[str] = mapped_column(default="Australia/Sydney")
    country: Mapped[str] = mapped_column(default="")  # ISO 3166; empty: that of its law, else of its time zone
    jurisdiction: Mapped[str] = mapped_column(default="au-nsw")
    mains_v: Mapped[float] = mapped_column(default=230.0)
    mains_hz: Mapped[int] = mapped_column(default=50)
    hourly_rate_minor: Mapped[int] = mapped_column(default=9500)
    diagnosis_fee_minor: Mapped[int] = mapped_column(default=8500)
    decline_fee_minor: Mapped[int] = mapped_column(default=0)
    quote_valid_days: Mapped[int] = mapped_column(default=30)
    warranty_days: Mapped[int] = mapped_column(default=90)
    labour_rates: Mapped[str] = mapped_column(default="")  # beside the usual one, a line each: app/shop/prices.py
    part_markups: Mapped[str] = mapped_column(default="")  # what is put on parts by what they cost, a line each
    cash_step: Mapped[int] = mapped_column(default=1)  # smallest coins: what is paid in cash is a multiple of it
    pay_within_days: Mapped[int] = mapped_column(default=0)  # after the day of a bill; 0: when the amp is collected
    warn_at_percent: Mapped[int] = mapped_column(default=70)
    hold_at_percent: Mapped[int] = mapped_column(default=90)
    safe_volts: Mapped[float] = mapped_column(default=10.0)
    soak_minutes: Mapped[int] = mapped_column(default=120)
    opening_hours: Mapped[str] = mapped_column(default=USUAL)
    closed_days: Mapped[str] = mapped_column(default="")
    keeps_holidays: Mapped[bool] = mapped_column(default=True)
    technicians: Mapped[int] = mapped_column(default=1)  # pairs of hands at the bench at once
    timer_longest_hours: Mapped[int] = mapped_column(default=5)  # a timer that runs longer is asked about
    bill_minutes: Mapped[int] = mapped_column(default=15)  # a started step of so many minutes is billed whole
    customer_years: Mapped[int] = mapped_column(default=7)  # after their last repair, until customers are due for erasure
    strip_location: Mapped[bool] = mapped_column(default=False)  # of original photos, as they are added
    backup_days: Mapped[int] = mapped_column(default=2)  # a last good backup that is older is called too old
    least_views: Mapped[int] = mapped_column(default=6)  # views of an amp that comes in, beside its serial plate
    accessory_list: Mapped[str] = mapped_column(default="")  # empty: the usual ones
    first_number: Mapped[int] = mapped_column(default=1001)
    first_bill: Mapped[int] = mapped_column(default=1)
    first_credit_note: Mapped[int] = mapped_column(default=1)
    settings_saved_at: Mapped[datetime | None]  # when somebody first saved them: until then they are what it came with
    demo: Mapped[bool] = mapped_column(default=False)
    opened_at: Mapped[datetime]

    __table_args__ = (
        sa.CheckConstraint("id = 1", name="only_one"),
        sa.CheckConstraint("paper IN ('A4', 'Letter')", name="paper_known"),
        sa.CheckConstraint("hourly_rate_minor >= 0 AND diagnosis_fee_minor >= 0 AND decline_fee_minor >= 0",
                           name="money_not_negative"),
        sa.CheckConstraint("tax_rate_bp BETWEEN 0 AND 10000", name="tax_rate_sensible"),
        sa.CheckConstraint("second_tax_rate BETWEEN 0 AND 100000 AND cash_step BETWEEN 1 AND 10000 AND "
                           "pay_within_days BETWEEN 0 AND 365", name="prices_sensible"),
        sa.CheckConstraint("mains_hz IN (50, 60)", name="mains_hz_known"),
        sa.CheckConstraint("safe_volts > 0 AND safe_volts <= 60", name="safe_volts_touchable"),
        sa.CheckConstraint("warn_at_percent BETWEEN 1 AND 100 AND hold_at_percent BETWEEN warn_at_percent AND 100",
                           name="ceiling_percents_in_order"),
        sa.CheckConstraint("least_views BETWEEN 1 AND 14", name="least_views_sensible"),
        sa.CheckConstraint("technicians BETWEEN 1 AND 20 AND timer_longest_hours BETWEEN 1 AND 24 AND "
                           "bill_minutes BETWEEN 1 AND 60", name="hours_sensible"),
        sa.CheckConstraint("first_number BETWEEN 1 AND 9999999", name="first_number_sensible"),
        sa.CheckConstraint("first_bill BETWEEN 1 AND 9999999 AND first_credit_note BETWEEN 1 AND 9999999",
                           name="first_bills_sensible"),
        sa.CheckConstraint("customer_years BETWEEN 1 AND 40", name="customer_years_sensible"),
        sa.CheckConstraint("backup_days BETWEEN 1 AND 90", name="backup_days_sensible"),
    )

    @property
    def w(self) -> Words:
        return WORDS[self.wording]

    @property
    def rates(self) -> tuple[Rate, ...]:
        """Labour rates beside the usual one."""
        return parse_rates(self.labour_rates, self.currency)

    @property
    def bands(self) -> tuple[Band, ...]:
        """What is put on parts by what they cost."""
        return parse_bands(self.part_markups, self.currency)

    @property
    def opening(self) -> Opening:
        return parse_opening(self.opening_hours)

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)
