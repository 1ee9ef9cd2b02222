"""Everything that stands on the intake receipt, gathered once so that paper and screen say the same."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from app.intake.models import HowSigned
from app.intake.queries import sheets
from app.intake.queries.terms import in_force
from app.intake.rules import MAINS_JOINED, Zone
from app.intake.terms import Paragraph
from app.orders import authority, power
from app.orders.models import AuthorityFor, Channel, RepairOrder
from app.records.models import Customer
from app.records.rules import ProtectionClass
from app.shop.queries import the_shop


@dataclass(frozen=True)
class Party:
    """One of the people of an order, as the receipt names them: its reader is who left the amp, so of the others only the name."""

    name: str
    phone: str
    email: str
    address: str


@dataclass(frozen=True)
class Goods:
    """The amp as it is marked."""

    maker: str
    model: str
    serial: str
    mains_marking: str
    protection_class: ProtectionClass
    valves: str
    covering: str
    marks: str


@dataclass(frozen=True)
class Signature:
    """Who signed which text, how and when. `path` is an SVG path in a 640 × 200 field; empty if it is on paper."""

    name: str
    how: HowSigned
    path: str
    at: datetime
    taken_by: str
    text: str
    text_sha256: str


@dataclass(frozen=True)
class Agreed:
    """Who agreed to the ceiling of the diagnosis, how and when, and who took it."""

    agreed_by: str
    channel: Channel
    agreed_at: datetime
    taken_by: str


@dataclass(frozen=True)
class ReceiptFacts:
    """The intake receipt. Sums in minor units; None where nothing was said, agreed or signed."""

    number: int
    opened_at: datetime
    depositor: Party
    owner: Party
    authority_holder: Party
    goods: Goods
    accessories: tuple[tuple[str, int], ...]
    counted_by: str
    condition: tuple[tuple[Zone, str], ...]
    photo_count: int
    complaint: str
    connected: str
    how_long_on: str
    noticed: tuple[tuple[str, bool], ...]
    keep: str
    leave_alone: str
    declared_value_minor: int | None
    fee_minor: int | None
    fee_credited: bool
    ceiling_minor: int | None
    ceiling_agreed: Agreed | None
    dangers: tuple[str, ...]
    energised: bool | None
    energised_why: str
    do_not_energise: str
    promised_on: date | None
    come_back_of: int | None
    terms_title: str
    terms_checked: date
    notices: tuple[Paragraph, ...]
    signature: Signature | None
    taken_in_by: str


def receipt_facts(order: RepairOrder) -> ReceiptFacts:
    """The receipt of this order as it stands now."""
    terms = in_force(the_shop().jurisdiction)
    told, look = sheets.complaint(order.id), sheets.first_look(order.id)
    offered, kept_apart = sheets.agreement(order.id), power.do_not_energise(order.id)
    count = sheets.counted(order.id)
    seen = (*((MAINS_JOINED,) if look.mains_joined else ()), *look.dangers, *((look.other,) if look.other else ())) if look else ()
    asked = (("smell", told.smell), ("smoke", told.smoke), ("fuse", told.fuse)) if told else ()
    return ReceiptFacts(
        number=order.number, opened_at=order.opened_at, depositor=_party(order.depositor),
        owner=_other(order, order.owner), authority_holder=_other(order, order.authority), goods=_goods(order),
        accessories=tuple((accessory.what, accessory.quantity) for accessory in sheets.accessories(order.id)),
        counted_by=count.by_name if count else "",
        condition=tuple((note.zone, note.note) for note in sheets.condition_notes(order.id)),
        photo_count=len(sheets.condition_photos(order.id)), complaint=told.words if told else "",
        connected=told.connected if told else "", how_long_on=told.how_long_on if told else "",
        noticed=tuple((what, answer) for what, answer in asked if answer is not None),
        keep=told.keep if told else "", leave_alone=told.leave_alone if told else "",
        declared_value_minor=offered.declared_value_minor if offered else None,
        fee_minor=offered.fee_minor if offered else None, fee_credited=bool(offered and offered.fee_credited),
        ceiling_minor=offered.ceiling_minor if offered else None,
        ceiling_agreed=_agreed(order), dangers=seen,
        energised=look.energised if look else None, energised_why=look.energised_why if look else "",
        do_not_energise=kept_apart.reason if kept_apart else "", promised_on=order.promised_on,
        come_back_of=order.come_back_of.number if order.come_back_of else None, terms_title=terms.title,
        terms_checked=terms.checked, notices=terms.paragraphs, signature=_signature(order),
        taken_in_by=told.by_name if told else "")


def _party(who: Customer) -> Party:
    return Party(who.name, who.phone, who.email, who.address)


def _other(order: RepairOrder, who: Customer) -> Party:
    """How to reach somebody else is theirs to give, not the shop's."""
    return _party(who) if who.id == order.depositor_id else Party(who.name, "", "", "")


def _agreed(order: RepairOrder) -> Agreed | None:
    found = authority.newest(order.id, AuthorityFor.DIAGNOSIS)
    return Agreed(found.agreed_by, found.channel, found.agreed_at, found.taken_by) if found else None


def _goods(order: RepairOrder) -> Goods:
    amp = order.amp
    return Goods(amp.maker, amp.model, amp.serial, amp.mains_marking, amp.protection_class, amp.valves, amp.covering,
                 amp.marks)


def _signature(order: RepairOrder) -> Signature | None:
    found = sheets.acceptance(order.id)
    if found is None:
        return None
    return Signature(found.signer_name, found.how, found.signature, found.at, found.by_name, found.text,
                     found.text_sha256)
