"""Reading what is written down at the return, and the texts that are signed there."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from app.db import session
from app.findings import queries as findings_queries
from app.findings.rules.life import Status
from app.findings.rules.risk import MUST_ACT
from app.handover.models import (
    AccessoryReturn,
    CollectionNotice,
    Demonstration,
    Disposal,
    OldParts,
    ReturnSignature,
    Settlement,
    UnrepairedAcknowledgement,
    UnrepairedReturn,
)
from app.handover.rules import Facts, Measure, Thing, UnrepairedFacts
from app.handover.signed import (
    RECEIVED,
    WARNED,
    Paid,
    Parts,
    Returned,
    Shown,
    ToAcknowledge,
    ToSign,
    words_to_acknowledge,
    words_to_sign,
)
from app.intake.models import Accessory
from app.intake.queries import sheets as sheets_queries
from app.kernel.facts import Comparison, Said, fingerprint, still_says
from app.kernel.money import show
from app.money import queries as money
from app.orders import authority
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.orders.warranty import who_pays
from app.quote import queries as quotes
from app.removals import queries as removals
from app.removals.rules import Fate
from app.safety import queries as safety
from app.safety.rules import Result
from app.shop.queries import day, the_shop


@dataclass(frozen=True)
class WrittenDown:
    """Which sheets of the return there are at all."""

    signed: bool
    settled: bool
    unrepaired: bool
    noticed: bool
    disposed: bool
    came_back: bool


def written_down(order_id: int) -> WrittenDown:
    """Asked in one question: most orders have none of these yet."""
    of_order = (ReturnSignature.order_id, Settlement.order_id, UnrepairedReturn.order_id, CollectionNotice.order_id,
                Disposal.order_id, RepairOrder.come_back_of_id)
    there = session().execute(sa.select(*(sa.exists().where(column == order_id) for column in of_order))).one()
    return WrittenDown(*map(bool, there))


def given_back(order_id: int) -> dict[int, AccessoryReturn]:
    """What was checked off, by the accessory."""
    found = session().scalars(sa.select(AccessoryReturn).where(AccessoryReturn.order_id == order_id))
    return {one.accessory_id: one for one in found}


def things(order_id: int) -> list[tuple[Accessory, AccessoryReturn | None]]:
    """Each accessory that came in, with what was checked off of it."""
    checked = given_back(order_id)
    return [(accessory, checked.get(accessory.id)) for accessory in sheets_queries.accessories(order_id)]


def old_parts(order_id: int) -> OldParts | None:
    """What became of the old parts."""
    return session().scalar(sa.select(OldParts).where(OldParts.order_id == order_id))


def settlement(order_id: int) -> Settlement | None:
    """What is due and what was paid."""
    return session().scalar(sa.select(Settlement).where(Settlement.order_id == order_id))


def demonstration(order_id: int) -> Demonstration | None:
    """Whether it was shown working."""
    return session().scalar(sa.select(Demonstration).where(Demonstration.order_id == order_id))


def signature(order_id: int) -> ReturnSignature | None:
    """The signature that counts: the newest."""
    return session().scalar(sa.select(ReturnSignature).where(ReturnSignature.order_id == order_id)
                            .order_by(ReturnSignature.id.desc()).limit(1))


def unrepaired(order_id: int) -> UnrepairedReturn | None:
    """Why it leaves unrepaired."""
    return session().scalar(sa.select(UnrepairedReturn).where(UnrepairedReturn.order_id == order_id))


def acknowledgement(order_id: int) -> UnrepairedAcknowledgement | None:
    """The acknowledgement that counts: the newest."""
    return session().scalar(sa.select(UnrepairedAcknowledgement).where(UnrepairedAcknowledgement.order_id == order_id)
                            .order_by(UnrepairedAcknowledgement.id.desc()).limit(1))


def notices(order_id: int) -> Sequence[CollectionNotice]:
    """Every notice, oldest first, struck ones too."""
    return session().scalars(sa.select(CollectionNotice).where(CollectionNotice.order_id == order_id)
                             .order_by(CollectionNotice.number)).all()


def standing_notices(order_id: int) -> list[CollectionNotice]:
    """Those that count."""
    return [one for one in notices(order_id) if one.struck_at is None]


def ready_on(order: RepairOrder) -> date | None:
    """Since which day it can be collected: since it came to the return, or since it is written why it leaves unrepaired."""
    arrived, written = arrived_at_return(order), unrepaired(order.id)
    since = (arrived or order.opened_at) if order.stage is Stage.RETURN else written.at if written else None
    return since.astimezone(the_shop().zone).date() if since else None


def counting_notices(order: RepairOrder) -> list[CollectionNotice]:
    """Those that count: not struck, and sent since the amp can be collected."""
    since = ready_on(order)
    return [one for one in standing_notices(order.id) if since is not None and one.sent_on >= since]


def find_notice(notice_id: int) -> CollectionNotice | None:
    """One notice."""
    return session().get(CollectionNotice, notice_id)


def disposal(order_id: int) -> Disposal | None:
    """What became of an uncollected amp."""
    return session().scalar(sa.select(Disposal).where(Disposal.order_id == order_id))


def come_backs(order_id: int) -> Sequence[RepairOrder]:
    """Later orders of the same amp that come back after this one."""
    return session().scalars(sa.select(RepairOrder).where(RepairOrder.come_back_of_id == order_id)
                             .order_by(RepairOrder.id)).all()


def arrived_at_return(order: RepairOrder) -> datetime | None:
    """When it came to the return the last time; None if nobody moved it there."""
    return max((move.at for move in order.moves if move.to_stage is Stage.RETURN), default=None)


def shown_as_it_is(order: RepairOrder) -> Demonstration | None:
    """The demonstration that counts: made since the amp came to the return the last time."""
    shown, since = demonstration(order.id), arrived_at_return(order)
    return shown if shown is not None and order.stage is Stage.RETURN and (since is None or shown.at >= since) else None


def signed_as_it_is(order: RepairOrder) -> ReturnSignature | None:
    """The newest signature, if it was given since the amp came to the return the last time."""
    signed, since = signature(order.id), arrived_at_return(order)
    return signed if signed is not None and order.stage is Stage.RETURN and (since is None or signed.at >= since) else None


def facts(order: RepairOrder) -> Facts:
    """How far the return has come, as the rule asks."""
    paid, signed = settlement(order.id), signed_as_it_is(order)
    due = money.due_for_work(order.id, paid.due_minor if paid else None)
    return Facts(_things(order.id), old_parts(order.id) is not None, due, authority.ceiling(order.id),
                 shown_as_it_is(order) is not None, signed is not None,
                 signed is not None and stands(RECEIVED, signed, to_sign(order)), _agrees(order, paid),
                 who_pays(order).why_nothing_is_charged if due else "")


def unrepaired_facts(order: RepairOrder) -> UnrepairedFacts:
    """How far an unrepaired return has come, as the rule asks."""
    signed, written, tested, warned = (acknowledgement(order.id), unrepaired(order.id), safety.last_completed(order),
                                       to_acknowledge(order))
    paid = settlement(order.id)
    due = money.due_for_work(order.id, paid.due_minor if paid else None)
    return UnrepairedFacts(_things(order.id), old_parts(order.id) is not None, written is not None, signed is not None,
                           signed is not None and warned is not None and stands(WARNED, signed, warned),
                           works=bool(written and written.works), hazards=_unmended(order),
                           failed_test=tested is not None and tested.result is Result.FAIL,
                           fees=show(fees, the_shop().currency) if (fees := money.due(order, unrepaired=True)) else "",
                           settled=paid is not None, agrees=_agrees(order, paid),
                           charged_though=who_pays(order).why_nothing_is_charged if due else "")


def _agrees(order: RepairOrder, paid: Settlement | None) -> bool:
    """Whether the sums that were written down are those of the bills and entries; an order of before there were bills has none."""
    account = money.account(order.id)
    if paid is None or (account.empty and not order.is_open):
        return True
    return (paid.due_minor, paid.paid_minor) == (account.balance.charged_minor, account.balance.received_minor)


def still_off(order: RepairOrder) -> list[str]:
    """What came off, would go back and is not back, by name; what its old parts are is told elsewhere."""
    gone = {one.id for one in removals.came_out_for_good(order)}
    return [one.title for one in removals.of_order(order) if one.ended_at is None and one.id not in gone
            and one.fate is not Fate.NEW]


def stands(kind: str, signed: ReturnSignature | UnrepairedAcknowledgement, now: ToSign | ToAcknowledge) -> bool:
    """Whether a signature is for what stands now. One of before there were facts stands while nothing was written since."""
    said = Said(signed.facts_version, signed.facts_sha256, signed.at)
    return still_says(kind, said, now) is not Comparison.CHANGED


def _unmended(order: RepairOrder) -> tuple[str, ...]:
    """Serious and high risks, and those not judged yet, that are not proved cured; declined ones too."""
    return tuple(finding.called for finding in findings_queries.findings_of(order)
                 if (finding.risk is None or finding.risk in MUST_ACT) and finding.status not in (Status.PROVED, Status.WITHDRAWN))


def _things(order_id: int) -> tuple[Thing, ...]:
    return tuple(Thing(one.what, one.quantity, back.given if back else None, back.note if back else "")
                 for one, back in things(order_id))


def to_sign(order: RepairOrder) -> ToSign:
    """What whoever takes a repaired amp signs for."""
    paid, shown, parts = settlement(order.id), shown_as_it_is(order), old_parts(order.id)
    tested = safety.last_completed(order)
    passed_at = tested.completed_at if tested is not None and safety.last_test_passed(order) else None
    return ToSign(order.number, order.amp.title, order.amp.serial, _returned(order.id),
                  Parts(parts.fate, parts.which) if parts else None,
                  _paid(paid), Shown(shown.shown, shown.said) if shown else None, passed_at,
                  _moments(order.id, parts, paid, shown, passed_at), tuple(quotes.hazards_not_cured(order)))


def _paid(paid: Settlement | None) -> Paid | None:
    if paid is None:
        return None
    return Paid(paid.due_minor, paid.paid_minor, the_shop().currency, paid.method, paid.on_account)


def to_acknowledge(order: RepairOrder) -> ToAcknowledge | None:
    """What whoever takes an unrepaired amp is warned of; None while nobody has written why it leaves so."""
    written, parts, paid = unrepaired(order.id), old_parts(order.id), settlement(order.id)
    if written is None:
        return None
    measures = tuple(one for one in written.measures if one != Measure.LABEL)
    return ToAcknowledge(order.number, order.amp.title, order.amp.serial, written.reason, written.danger, written.works, measures,
                         written.tag, written.advice, _returned(order.id), Parts(parts.fate, parts.which) if parts else None,
                         _moments(order.id, written, parts, paid), _paid(paid), tuple(still_off(order)))


def text_to_sign(order: RepairOrder) -> str:
    """What whoever takes a repaired amp reads."""
    return words_to_sign(to_sign(order), the_shop().name, lambda at: day(at.astimezone(the_shop().zone)))


def text_to_acknowledge(order: RepairOrder, *, refused_by: str = "") -> str:
    """What whoever takes an unrepaired amp reads, or has read out; empty while there is nothing to warn of."""
    warned = to_acknowledge(order)
    return words_to_acknowledge(warned, the_shop().name, refused_by=refused_by) if warned else ""


def fingerprint_to_sign(order: RepairOrder) -> str:
    """The fingerprint of what is signed for as things stand."""
    return fingerprint(RECEIVED, to_sign(order))


def fingerprint_to_acknowledge(order: RepairOrder) -> str:
    """The same of the warning; empty while there is none."""
    warned = to_acknowledge(order)
    return fingerprint(WARNED, warned) if warned else ""


def sha256(text: str) -> str:
    """The fingerprint of a text that was read."""
    return hashlib.sha256(text.encode()).hexdigest()


def _returned(order_id: int) -> tuple[Returned, ...]:
    return tuple(Returned(one.what, one.quantity, back.given if back else None, back.note if back else "")
                 for one, back in things(order_id))


def _moments(order_id: int, *records: Any) -> tuple[datetime, ...]:
    """When each of these was written down, and each accessory."""
    told = [*records, *(back for _, back in things(order_id))]
    return tuple(one if isinstance(one, datetime) else one.at for one in told if one is not None)
