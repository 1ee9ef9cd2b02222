"""The shop's calendar: hours at the bench by weekday, days without work, and the day from which work can go on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from app.estimating.public_holidays import public_holidays
from app.shop.opening_hours import parse_closed
from app.shop.queries import country, the_shop

YEARS = 3  # whose holidays are looked up: this one and those after it


@dataclass(frozen=True)
class ShopDays:
    """What `app.estimating.queue` asks of a calendar."""

    today: date
    hours_per_day: Mapping[int, float]
    closed: frozenset[date]


def shop_days(now: datetime) -> ShopDays:
    """From today on, or from tomorrow once the shop has closed for the day. Several people at the bench add their hours."""
    shop = the_shop()
    local = now.astimezone(shop.zone)
    opening = shop.opening
    ends = [end for _, end in opening.spans[local.weekday()]]
    over = not ends or local.hour * 60 + local.minute >= max(ends)
    today = local.date() + timedelta(days=1) if over else local.date()
    hours = {day: min(worked * shop.technicians, 24.0) for day, worked in opening.by_weekday.items()}
    return ShopDays(today, hours, holidays(range(today.year, today.year + YEARS)) | parse_closed(shop.closed_days))


def holidays(years: Iterable[int]) -> frozenset[date]:
    """Public holidays of the shop's place, if it keeps them."""
    shop = the_shop()
    return public_holidays(shop.jurisdiction, years, country()) if shop.keeps_holidays else frozenset()
