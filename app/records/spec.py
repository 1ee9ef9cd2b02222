"""What is asked about customers and amps."""

from __future__ import annotations

from dataclasses import dataclass

from app.errors import BadInput
from app.kernel.spec import Choice, Text, asked, tidied
from app.records.rules import ProtectionClass

CLASSES = {ProtectionClass.I: "class I, with earth", ProtectionClass.II: "class II, double insulated",
           ProtectionClass.UNKNOWN: "not known yet"}


@dataclass(frozen=True)
class CustomerFacts:
    """A person or firm: a name and at least one of phone, e-mail and address."""

    name: str = asked(Text("Name", None, longest=120))
    phone: str = asked(Text("Phone", longest=60, sort="phone"), "")
    email: str = asked(Text("E-mail", longest=120, sort="email"), "")
    address: str = asked(Text("Address", longest=400, sort="lines"), "")
    note: str = asked(Text("Note for the shop", longest=1000, sort="lines"), "")

    def checked(self) -> CustomerFacts:
        """Tidied; BadInput without a name or without a way to reach them."""
        found = tidied(self)
        if not found.name:
            raise BadInput("Enter the customer’s name.", "name")
        if not (found.phone or found.email or found.address):
            raise BadInput("Enter one way to reach them: phone, e-mail or address.", "phone")
        return found


@dataclass(frozen=True)
class AmpFacts:
    """An amp as it is marked. At the counter maker or model is enough to begin; the gate asks for the rest."""

    maker: str = asked(Text("Maker, as marked", None, longest=120))
    model: str = asked(Text("Model, as marked", None, longest=120))
    serial: str = asked(Text("Serial number", None, longest=120), "")
    mains_marking: str = asked(Text("Mains marking", None, longest=200), "")
    protection_class: ProtectionClass = asked(Choice("Protection class", None, words=CLASSES, start=ProtectionClass.UNKNOWN),
                                              ProtectionClass.UNKNOWN)
    valves: str = asked(Text("Valves in it", longest=400), "")
    covering: str = asked(Text("Covering and colour", longest=200), "")
    marks: str = asked(Text("Identifying marks", longest=1000, sort="lines"), "")

    def checked(self) -> AmpFacts:
        """Tidied; BadInput without maker and model."""
        found = tidied(self)
        if not found.maker:
            raise BadInput("Enter the maker as marked, or “home-built”.", "maker")
        if not found.model:
            raise BadInput("Enter the model as marked, or “no marking”.", "model")
        return found
