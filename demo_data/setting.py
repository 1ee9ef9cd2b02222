"""The shop itself: its people, its instruments, the profile it tests under."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from app.access import service as accounts
from app.access.rules import Role
from app.db import session
from app.journal.service import Actor
from app.measuring.models import Instrument
from app.measuring.rules import Kind, Quantity, Statement
from app.measuring.service import instruments as instruments_service
from app.measuring.spec import InstrumentFacts
from app.safety import queries as safety
from app.safety.service import profiles as profiles_service
from app.shop.service import change, open_shop

NAMES = (("Juno", Role.COUNTER), ("Anselm", Role.TECHNICIAN), ("Brae", Role.TECHNICIAN), ("Odile", Role.OWNER))
WORDS = ("amber", "basalt", "cinder", "dovetail", "ember", "flannel", "garnet", "hazel", "indigo", "juniper", "kestrel", "larch",
         "meadow", "nutmeg", "orchard", "pepper", "quarry", "russet", "saffron", "thistle", "umber", "velvet", "willow", "yarrow")

METER = (Statement(Quantity.VOLT_DC, 60, 0.3, 2, 0.01), Statement(Quantity.VOLT_DC, 1000, 0.3, 2, 0.1),
         Statement(Quantity.VOLT_AC, 40, 0.8, 3, 0.01), Statement(Quantity.VOLT_AC, 750, 0.8, 3, 0.1),
         Statement(Quantity.AMP_DC, 0.4, 0.8, 3, 1e-4), Statement(Quantity.AMP_AC, 10, 1.5, 3, 1e-3),
         Statement(Quantity.OHM, 40e6, 0.5, 2, 0.1))
TESTER = (Statement(Quantity.OHM, 2, 2, 2, 0.001), Statement(Quantity.OHM, 500e6, 5, 2, 1e4),
          Statement(Quantity.AMP_AC, 0.02, 2, 2, 1e-5))
LOAD = (Statement(Quantity.WATT, 200, 2.0, 1, 0.1),)


@dataclass(frozen=True)
class Crew:
    """Who does what in the demo."""

    counter: Actor
    bench: Actor
    second: Actor
    owner: Actor


@dataclass(frozen=True)
class Bench:
    """What is measured with."""

    meter: Instrument
    tester: Instrument


def passphrase() -> str:
    """Four words, none of them twice: nobody can know a demo shop's passwords before it is made."""
    return " ".join(secrets.SystemRandom().sample(WORDS, 4))


def open_up(now: datetime) -> tuple[Crew, dict[str, str]]:
    """Shop and people; returns the crew and each one's password. Call inside a transaction."""
    program = Actor(None, "the demo", "the console")
    shop = open_shop("Ferrymead Amplifier Works", by=program, now=now, demo=True, address="12 Ropewalk\nSaltbridge",
                     phone="555 0142", email="bench@ferrymead.example", licence="EW 00000", tax_number="00 000 000 000")
    passwords, actors = {}, {}
    for name, role in NAMES:
        password = passphrase()
        person = accounts.add_person(name, role, password, by=program, now=now)
        session().flush()
        passwords[name] = password
        actors[name] = Actor(person.id, name, "Counter" if role is Role.COUNTER else "Bench 1")
    change(shop, {"country": "AU"}, by=actors["Odile"], now=now)
    return Crew(actors["Juno"], actors["Anselm"], actors["Brae"], actors["Odile"]), passwords


def equip(crew: Crew, now: datetime, today: date) -> Bench:
    """Instruments in and out of date, and the profile in force, confirmed by the owner."""
    measured = today - timedelta(days=200)
    meter = _add(crew, now, "M2", Kind.MULTIMETER, measured, METER, category="CAT III 600 V")
    tester = _add(crew, now, "E1", Kind.SAFETY_TESTER, today - timedelta(days=120), TESTER)
    _add(crew, now, "L8", Kind.LOAD, measured, LOAD)
    _add(crew, now, "M1", Kind.MULTIMETER, today - timedelta(days=420), METER, category="CAT II 600 V")
    profiles_service.ensure_profiles(now=now)
    profile = next(one for one in safety.profiles() if one.key == "en_50678")
    profiles_service.confirm_profile(profile, edition="2020", edition_date=date(2020, 9, 1), by=crew.owner, now=now)
    profiles_service.put_in_force(profile, by=crew.owner, now=now)
    return Bench(meter, tester)


def _add(crew: Crew, now: datetime, name: str, kind: Kind, calibrated: date, stated: tuple[Statement, ...],
         category: str = "") -> Instrument:
    facts = InstrumentFacts(name=name, kind=kind, serial=f"{name}-4471", category=category,
                                                calibrated_on=calibrated,
                                      due_on=calibrated + timedelta(days=365), certificate=f"C-{calibrated:%Y}-{name}")
    made = instruments_service.add_instrument(facts, by=crew.owner, now=now)
    session().flush()
    for one in stated:
        instruments_service.state_accuracy(made, one, by=crew.owner, now=now)
    return made
