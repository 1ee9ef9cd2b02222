"""People and amps that the shop knows."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime

from app.db import session
from app.errors import BadInput
from app.intake.service.writing import put, say, tidy
from app.journal.events import Event
from app.journal.service import Actor, record
from app.records.models import Amp, Customer, ProtectionClass


@dataclass(frozen=True)
class CustomerFacts:
    """A person or firm: a name and at least one of phone, e-mail and address."""

    name: str
    phone: str = ""
    email: str = ""
    address: str = ""
    note: str = ""

    def checked(self) -> CustomerFacts:
        """Tidied; BadInput without a name or without a way to reach them."""
        if not tidy(self.name):
            raise BadInput("Enter the customer’s name.", "name")
        found = CustomerFacts(tidy(self.name), tidy(self.phone), tidy(self.email), self.address.strip(),
                              self.note.strip())
        if not (found.phone or found.email or found.address):
            raise BadInput("Enter one way to reach them: phone, e-mail or address.", "phone")
        return found


@dataclass(frozen=True)
class AmpFacts:
    """An amp as it is marked. At the counter maker or model is enough to begin; the gate asks for the rest."""

    maker: str
    model: str
    serial: str = ""
    mains_marking: str = ""
    protection_class: ProtectionClass = ProtectionClass.UNKNOWN
    valves: str = ""
    covering: str = ""
    marks: str = ""

    def checked(self) -> AmpFacts:
        """Tidied; BadInput without maker and model."""
        if not tidy(self.maker):
            raise BadInput("Enter the maker as marked, or “home-built”.", "maker")
        if not tidy(self.model):
            raise BadInput("Enter the model as marked, or “no marking”.", "model")
        return AmpFacts(tidy(self.maker), tidy(self.model), tidy(self.serial), tidy(self.mains_marking),
                        self.protection_class, tidy(self.valves), tidy(self.covering), self.marks.strip())


def add_customer(facts: CustomerFacts, *, by: Actor, now: datetime) -> Customer:
    """Somebody the shop has not met before."""
    given = asdict(facts.checked())
    customer = Customer(added_at=now, **given)
    session().add(customer)
    record(Event.CUSTOMER_ADDED, customer, by=by, now=now, after=_kept(given))
    return customer


def change_customer(customer: Customer, facts: CustomerFacts, *, by: Actor, now: datetime) -> None:
    """A new number, a corrected name."""
    put(customer, asdict(facts.checked()), Event.CUSTOMER_CHANGED, by=by, now=now)


def add_amp(facts: AmpFacts, *, by: Actor, now: datetime) -> Amp:
    """An amp the shop has not seen before."""
    given = asdict(facts.checked())
    amp = Amp(added_at=now, **given)
    session().add(amp)
    record(Event.AMP_ADDED, amp, by=by, now=now, after=_kept(given))
    return amp


def change_amp(amp: Amp, facts: AmpFacts, *, by: Actor, now: datetime) -> None:
    """What its marks say, better read."""
    put(amp, asdict(facts.checked()), Event.AMP_CHANGED, by=by, now=now)


def _kept(given: dict[str, object]) -> dict[str, object]:
    return {name: say(value) for name, value in given.items() if say(value) is not None}
