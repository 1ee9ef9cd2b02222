"""Reading what is written down at the return, and the texts that are signed there."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

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
from app.handover.rules import Facts, Thing, UnrepairedFacts
from app.intake.models import Accessory
from app.intake.queries import sheets as sheets_queries
from app.kernel.money import show
from app.orders import authority
from app.orders.models import RepairOrder
from app.safety import queries as safety
from app.safety.rules import Result
from app.shop.queries import the_shop


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


def facts(order: RepairOrder) -> Facts:
    """How far the return has come, as the rule asks."""
    paid, signed = settlement(order.id), signature(order.id)
    return Facts(_things(order.id), old_parts(order.id) is not None, paid.due_minor if paid else None,
                 authority.ceiling(order.id), demonstration(order.id) is not None, signed.text_sha256 if signed else "",
                 sha256(text_to_sign(order)) if signed else "")


def unrepaired_facts(order: RepairOrder) -> UnrepairedFacts:
    """How far an unrepaired return has come, as the rule asks."""
    signed, written, tested = acknowledgement(order.id), unrepaired(order.id), safety.last_completed(order)
    return UnrepairedFacts(_things(order.id), old_parts(order.id) is not None, written is not None,
                           signed.text_sha256 if signed else "", sha256(text_to_acknowledge(order)) if signed else "",
                           works=bool(written and written.works), hazards=_unmended(order),
                           failed_test=tested is not None and tested.result is Result.FAIL)


def _unmended(order: RepairOrder) -> tuple[str, ...]:
    """Serious and high risks, and those not judged yet, that are not proved cured; declined ones too."""
    return tuple(finding.called for finding in findings_queries.findings_of(order)
                 if (finding.risk is None or finding.risk in MUST_ACT) and finding.status not in (Status.PROVED, Status.WITHDRAWN))


def _things(order_id: int) -> tuple[Thing, ...]:
    return tuple(Thing(one.what, one.quantity, back.given if back else None, back.note if back else "")
                 for one, back in things(order_id))


def sha256(text: str) -> str:
    """The fingerprint of a text that is signed."""
    return hashlib.sha256(text.encode()).hexdigest()


def text_to_sign(order: RepairOrder) -> str:
    """What whoever takes a repaired amp signs: the very text that is shown and kept. Blocks are parted by blank lines."""
    return "\n\n".join([f"Received back from {the_shop().name}: {_amp(order)}, repair {order.number}.", *_with_it(order),
                        _sums(order), _shown(order),
                        "The repair report says what was found and done, and which tests the amp passed on which day. It is no "
                        "promise about anything after that day beyond the warranty it names."])


def text_to_acknowledge(order: RepairOrder) -> str:
    """What whoever takes an unrepaired amp acknowledges."""
    written = unrepaired(order.id)
    if written is None:
        return ""
    kept_off = "; ".join(written.measures)
    use = (f"Switch on only as follows: {written.works}." if written.works
           else "It must not be plugged in or switched on until someone qualified has repaired and tested it.")
    return "\n\n".join([f"{_amp(order)}, repair {order.number}, leaves {the_shop().name} unrepaired: {written.reason.word}.",
                        f"What is wrong and what could happen: {written.danger}", use,
                        f"What was done: {kept_off}.{f' Tag {written.tag}.' if written.tag else ''}",
                        *([f"Advice: {written.advice}"] if written.advice else []), *_with_it(order),
                        "This amp has NOT been repaired and tested. The shop does not call it safe. I have read this and take "
                        "the amp as it is."])


def _amp(order: RepairOrder) -> str:
    serial = f", serial {order.amp.serial}" if order.amp.serial else ""
    return f"{order.amp.title}{serial}"


def _with_it(order: RepairOrder) -> list[str]:
    listed = [f"{back.given} of {one.quantity} × {one.what}{f' ({back.note})' if back.note else ''}" if back
              else f"{one.quantity} × {one.what}, not checked off yet" for one, back in things(order.id)]
    parts = old_parts(order.id)
    said = f"Old parts: {parts.fate.value}{f' ({parts.which})' if parts.which else ''}." if parts else "Old parts: not settled."
    return [f"With it: {', '.join(listed) or 'nothing came with it'}.", said]


def _sums(order: RepairOrder) -> str:
    paid, currency = settlement(order.id), the_shop().currency
    if paid is None:
        return "Money: not settled."
    rest = f" {show(paid.open_minor, currency)} stays open: {paid.on_account}" if paid.open_minor else ""
    how = f" ({paid.method.value})" if paid.paid_minor else ""
    return f"Due {show(paid.due_minor, currency)}, paid {show(paid.paid_minor, currency)}{how}.{rest}"


def _shown(order: RepairOrder) -> str:
    shown = demonstration(order.id)
    if shown is None:
        return "Not shown working yet."
    said = f" {shown.said}" if shown.said else ""
    return ("Demonstrated before it left." if shown.shown else "Demonstration declined.") + said
