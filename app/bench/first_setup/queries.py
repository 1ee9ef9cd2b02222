"""What the records hold of the first set-up."""

from __future__ import annotations

from datetime import date

from flask import get_template_attribute

from app.access import queries as access
from app.access.rules import May
from app.backup.remembered import of_this_shop as last_backup
from app.bench.first_setup.rules import Known, Setup, first_setup
from app.intake.queries import terms
from app.kernel.money import show
from app.measuring import queries as measuring
from app.measuring.rules import Kind
from app.safety.models.profiles import Profile
from app.safety.queries import profile_in_force
from app.safety.rules import FITTING
from app.shop import place
from app.shop import queries as shops
from app.shop.models import Shop


def setup(today: date) -> Setup:
    """The list as things stand."""
    return first_setup(_known(shops.the_shop(), today))


def _known(shop: Shop, today: date) -> Known:
    profile = profile_in_force()
    people = access.people()
    needed = _needed(profile)
    there = {one.kind for one in measuring.instruments() if one.standing(today).counts}
    law = terms.in_force(shop.jurisdiction)
    backup = last_backup(shop.backup_days)
    backup_words = get_template_attribute("components/backup.html", "backup_words")  # said once, here and on the other pages
    return Known(
        name=shop.name, address=shop.address.strip(), reached_by=shop.phone.strip() or shop.email.strip(),
        settings_saved=shop.settings_saved_at is not None, place=_place(shop), hands=shop.technicians,
        bench_people=[one.name for one in people if one.may(May.WORK)],
        with_pin=[one.name for one in people if one.pin_hash is not None],
        instruments_needed=list(needed), instruments_missing=[words for words, kinds in needed.items() if not kinds & there],
        profile=profile.title if profile else "", profile_confirmed=bool(profile and profile.confirmed_at),
        profile_to_look_at=bool(profile and profile.to_look_at),
        terms=law.title, terms_unread=sum(one.unconfirmed for one in law.paragraphs),
        rates=f"An hour {show(shop.hourly_rate_minor, shop.currency)}, diagnosis {show(shop.diagnosis_fee_minor, shop.currency)}",
        hourly_rate_minor=shop.hourly_rate_minor, devices=[one.name for one in access.devices()],
        backup_good=not backup.warns, backup=str(backup_words(backup, shop.backup_days)).strip())


def _needed(profile: Profile | None) -> dict[str, set[Kind]]:
    """What a repair cannot be proved without, each in words, with the kinds that will do: a meter to show that a capacitor holds no
    charge, and what the steps of the profile in force are measured with.
    """
    steps = {step.kind for step in profile.steps} if profile else set()
    found = {Kind.MULTIMETER.value: {Kind.MULTIMETER}}
    found.update({" or ".join(kind.value for kind in FITTING[step]): set(FITTING[step]) for step in FITTING if step in steps})
    return found


def _place(shop: Shop) -> str:
    code = shops.country()
    where = place.countries().get(code, code) if code else "No country"
    return f"{where}, time zone {shop.time_zone}"
