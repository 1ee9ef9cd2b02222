"""Each sheet of the counter in a line, for the overview and the order's page."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from app.intake.queries import sheets as sheets_queries
from app.kernel.local_forms import counted
from app.kernel.money import show
from app.orders import authority
from app.orders.models import AuthorityFor, RepairOrder
from app.photos import queries as pictures
from app.photos.models import Phase
from app.records.rules import ProtectionClass
from app.shop.queries import day, the_shop

PARTS = {"complaint": "Complaint", "people": "People", "amp": "The amp", "condition": "Condition",
         "accessories": "Accessories", "look": "Danger check", "money": "Fee and cost limit", "terms": "Terms",
         "place": "Shelf and date"}


@dataclass(frozen=True)
class Sheet:
    """One sheet: its part and word, what is missing on it (or ''), what it says in a line, whether it says anything."""

    part: str
    word: str
    lack: str
    line: str
    begun: bool = True


def sheets_of(order: RepairOrder, lacks: Mapping[str, str], *, lines: bool = False, only: Collection[str] = PARTS) -> list[Sheet]:
    """All sheets in the counter's order (or `only` these); those with something missing first where `lines` are asked for."""
    found = [Sheet(part, word, lacks.get(part, ""), _LINES[part](order) if lines else "", _begun(part, order))
             for part, word in PARTS.items() if part in only]
    return sorted(found, key=lambda sheet: not sheet.lack) if lines else found


def _begun(part: str, order: RepairOrder) -> bool:
    """Whether a sheet that no gate asks for has been attended to."""
    if part == "place":
        return bool(order.shelf and order.promised_on)
    return part != "money" or authority.newest(order.id, AuthorityFor.DIAGNOSIS) is not None


def _complaint(order: RepairOrder) -> str:
    told = sheets_queries.complaint(order.id)
    if told is None:
        return ""
    kept = f" Keep: {told.keep}" if told.keep else ""
    alone = f" Do not change: {told.leave_alone}" if told.leave_alone else ""
    return f"“{told.words}”{kept}{alone}"


def _people(order: RepairOrder) -> str:
    if len(sheets_queries.people_of(order)) == 1:
        return f"{order.depositor.name}, {order.depositor.reach}: left it, owns it, may approve cost"
    return (f"left by {order.depositor.name}, {order.depositor.reach}; owner {order.owner.name}; "
            f"cost is approved by {order.authority.name}, {order.authority.reach}")


def _amp(order: RepairOrder) -> str:
    amp = order.amp
    facts = [amp.title, f"serial {amp.serial}" if amp.serial else "", amp.mains_marking,
             f"class {amp.protection_class.value}" if amp.protection_class is not ProtectionClass.UNKNOWN else "",
             amp.valves]
    return ", ".join(one for one in facts if one)


def _condition(order: RepairOrder) -> str:
    notes = sheets_queries.condition_notes(order.id)
    photos = sum(photo.phase is Phase.AS_FOUND for photo in pictures.of_order(order.id))
    told = "; ".join(f"{note.zone.value}: {note.note}" for note in notes)
    return f"{counted(photos, 'photo')} as found{'. ' if told else ''}{told}"


def _accessories(order: RepairOrder) -> str:
    if things := sheets_queries.accessories(order.id):  # what is there was counted
        return ", ".join(f"{one.quantity} × {one.what}" for one in things)
    return "not counted" if sheets_queries.counted(order.id) is None else "none came with it"


def _look(order: RepairOrder) -> str:
    seen = sheets_queries.first_look(order.id)
    if seen is None:
        return "not looked yet"
    told = "; ".join([*seen.dangers, *([seen.other] if seen.other else [])]) or "nothing seen"
    return f"{told}. {'Switched on: ' + seen.energised_why if seen.energised else 'Not switched on.'}"


def _money(order: RepairOrder) -> str:
    offered = sheets_queries.agreement(order.id)
    if offered is None:
        return "nothing offered yet"
    currency = the_shop().currency
    agreed = authority.newest(order.id, AuthorityFor.DIAGNOSIS)
    said = f"agreed by {agreed.agreed_by}, {agreed.channel.value}" if agreed else "not agreed to yet"
    return f"fee {show(offered.fee_minor, currency)}, ceiling {show(offered.ceiling_minor, currency)}: {said}"


def _terms(order: RepairOrder) -> str:
    signed = sheets_queries.acceptance(order.id)
    return f"signed by {signed.signer_name} {signed.how.value}" if signed else "not signed"


def _place(order: RepairOrder) -> str:
    shelf = (f"on shelf {order.shelf}" if order.shelf else f"was at {order.left_shelf}" if order.left_shelf
             else "no shelf yet" if order.is_open else "no shelf")
    return f"{shelf}; {f'hears by {day(order.promised_on)}' if order.promised_on else 'no day promised'}"


_LINES = {"complaint": _complaint, "people": _people, "amp": _amp, "condition": _condition, "accessories": _accessories,
          "look": _look, "money": _money, "terms": _terms, "place": _place}
