"""Handing a repaired amp out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.errors import BadInput, GateClosed, Missing, RuleBroken
from app.handover import queries
from app.handover.gate import must_be_finished, must_be_going_out
from app.handover.models import AccessoryReturn, Demonstration, OldParts, ReturnSignature, Settlement
from app.handover.rules import Collector, HowSigned, OldPartsFate, missing_items
from app.handover.service.writing import keep
from app.intake.models import Accessory
from app.intake.rules import is_signature
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.money import show
from app.kernel.names import why_not_typed
from app.money import queries as money_queries
from app.money import service as money
from app.money.rules import NO_REASON, WHY_OPEN, EntryKind, Method, check_sums
from app.orders import authority, power
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.parts.queries import fitted
from app.removals.queries import came_out_for_good
from app.shop.queries import the_shop


@dataclass(frozen=True)
class Signed:
    """Who signs, who they are, how a stranger is known, and the pen's path if it is on the screen."""

    name: str
    who: Collector
    how: HowSigned
    signature: str = ""
    known_by: str = ""
    typed: str = ""  # their name as they typed it themselves


def check_off(order: RepairOrder, accessory: Accessory, given: int, note: str = "", *, by: Actor, now: datetime) -> AccessoryReturn:
    """So many of this accessory go back; fewer than came in only with a word about it."""
    orders.must_be_open(order)
    must_be_going_out(order)
    if accessory.order_id != order.id:
        raise RuleBroken("That accessory came with another order.")
    field = f"given_{accessory.id}"
    if not 0 <= given <= accessory.quantity:
        raise BadInput(f"{accessory.what}: {accessory.quantity} came in. Enter how many go back.", field)
    if given < accessory.quantity and not note.strip():
        raise BadInput(f"{accessory.what}: enter why not all go back, and what was agreed.", f"note_{accessory.id}")
    return keep(AccessoryReturn, order, {"given": given, "note": note.strip()}, Event.ACCESSORY_RETURNED, by=by, now=now,
                said={accessory.what: f"{given} of {accessory.quantity} given back", "note": note.strip() or None},
                key={"accessory_id": accessory.id})


def settle_old_parts(order: RepairOrder, fate: OldPartsFate, which: str = "", *, by: Actor, now: datetime) -> OldParts:
    """What became of the parts that came out, and which they were."""
    orders.must_be_open(order)
    must_be_going_out(order)
    if fate is not OldPartsFate.NONE and not which.strip():
        raise BadInput("Tick or name the parts.", "which")
    if fate is OldPartsFate.NONE and (came_out := [one.title for one in came_out_for_good(order)]):
        raise BadInput(f"The ledger has what came out and does not go back: {', '.join(came_out)}. Choose what became of it.",
                       "fate")
    if fate is OldPartsFate.NONE and not which.strip() and (in_place := [f"{one.what}, {one.place}" for one in fitted(order)]):
        raise BadInput(f"These were fitted: {'; '.join(in_place)}. Choose what became of the old ones, or enter below why none "
                       "came out.", "fate")
    return keep(OldParts, order, {"fate": fate, "which": which.strip()}, Event.OLD_PARTS_SETTLED, by=by, now=now,
                said={"old parts": fate.value, "which": which.strip() or None})


def settle(order: RepairOrder, due_minor: int, paid_minor: int, method: Method, on_account: str = "", because: str = "", *,
           by: Actor, now: datetime) -> Settlement:
    """What is due and what was paid now; never more than the ceiling that was agreed.

    The bill is issued with it, and what is paid is entered; a bill that was issued before is only corrected by a credit note.
    `because`: what makes the sum due another one than was agreed.
    """
    orders.must_be_open(order)
    must_be_going_out(order)
    account = money_queries.account(order.id)
    billed, received = account.repair_charged_minor, account.balance.received_minor
    owed, currency = account.balance.owed_minor - billed + due_minor, the_shop().currency
    if billed and due_minor != billed:
        raise BadInput(f"{show(billed, currency)} is billed. Correct the bill with a credit note, then save the payment.",
                       "due_minor")
    check_sums(due_minor, paid_minor, method, on_account, ceiling_minor=authority.ceiling(order.id), owed_minor=owed)
    unrepaired = queries.unrepaired(order.id) is not None
    if not billed and due_minor != money_queries.due(order, unrepaired=unrepaired) and not because.strip():
        raise BadInput(NO_REASON, "because")
    if due_minor and not billed:
        money.bill(order, due_minor, because, unrepaired=unrepaired, by=by, now=now)
        session().flush()
    if paid_minor:
        try:
            money.enter(order, money.Entry(EntryKind.PAYMENT, paid_minor, method, now), by=by, now=now)
        except BadInput as wrong:
            raise BadInput(wrong.words, "paid_minor" if wrong.field == "amount_minor" else wrong.field) from wrong
        session().flush()
    stands = money_queries.account(order.id).balance
    if stands.owed_minor > 0 and not on_account.strip():
        raise BadInput(WHY_OPEN, "on_account")
    told = method if paid_minor or not stands.received_minor else _last_method(order.id)
    return keep(Settlement, order, {"due_minor": stands.charged_minor, "paid_minor": stands.received_minor, "method": told,
                                    "on_account": on_account.strip()}, Event.PAYMENT_RECORDED, by=by, now=now,
                said={"due": show(stands.charged_minor, currency), "paid": show(stands.received_minor, currency), "by": told.value,
                      "paid before": show(received, currency) if received else None, "differs because": because.strip() or None,
                      "stays open because": on_account.strip() or None})


def _last_method(order_id: int) -> Method:
    came = [one for one in money_queries.account(order_id).entries if one.struck_at is None and one.kind.comes_in]
    return came[-1].method


def show_working(order: RepairOrder, shown: bool, said: str = "", *, by: Actor, now: datetime) -> Demonstration:
    """It was shown working, or that was not wanted; and what was said about its use. Not before it is finished and tested."""
    orders.must_be_open(order)
    must_be_finished(order)
    if shown:
        power.was_on(order, "shown working", by=by, now=now)
    return keep(Demonstration, order, {"shown": shown, "said": said.strip()}, Event.AMP_DEMONSTRATED, by=by, now=now,
                anew=queries.shown_as_it_is(order) is None,
                said={"shown working": "yes" if shown else "offered and not wanted", "said": said.strip() or None})


def sign(order: RepairOrder, signed: Signed, *, by: Actor, now: datetime) -> ReturnSignature:
    """Whoever takes the amp signs for what stands, once everything else of the return is settled; the words are kept as read."""
    orders.must_be_open(order)
    must_be_finished(order)
    before = tuple(Missing(lack.text, f"handover.{lack.part}", (("order_id", order.id),))
                   for lack in missing_items(queries.facts(order)) if lack.part != "sign")
    if before:
        raise GateClosed("This comes before the signature.", before)
    if not signed.name.strip():
        raise BadInput("Enter the name of whoever takes it.", "name")
    if signed.who in (Collector.SENT, Collector.CARRIER) and not signed.known_by.strip():
        raise BadInput("Enter how they showed that they may take it: the receipt, a message, a delivery note.", "known_by")
    if signed.how is HowSigned.SCREEN and not is_signature(signed.signature):
        raise BadInput("Have them sign on the screen, type their name, or tick that it was signed on paper.", "signature")
    if signed.how is HowSigned.TYPED and (why := why_not_typed(signed.typed, signed.name)):
        raise BadInput(why, "typed")
    facts, text = queries.to_sign(order), queries.text_to_sign(order)
    signature = ReturnSignature(order_id=order.id, name=signed.name.strip(), who=signed.who, known_by=signed.known_by.strip(),
                           how=signed.how, signature=signed.signature if signed.how is HowSigned.SCREEN else "", text=text,
                           text_sha256=queries.sha256(text), facts_sha256=queries.fingerprint_to_sign(order),
                           facts_version=facts.version, at=now, by_name=by.name)
    session().add(signature)
    record(Event.RETURN_SIGNED, signature, by=by, now=now,
           after={"taken by": signature.name, "who": signature.who.value, "known by": signature.known_by or None,
                  "signed": signature.how.value, "SHA-256 of the text": signature.text_sha256})
    return signature


def release(order: RepairOrder, *, by: Actor, now: datetime) -> None:
    """The amp is gone: the order ends as repaired, past every gate."""
    orders.end(order, End.REPAIRED, by=by, now=now)
