"""The terms, signed; and who agreed to the ceiling of the diagnosis."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.intake.models import Acceptance, Agreement, HowSigned
from app.intake.rules import is_signature
from app.intake.terms import Terms
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.names import why_not_typed
from app.orders import authority
from app.orders.authority import Consent
from app.orders.models import AuthorityFor, Channel, CostAuthority, RepairOrder
from app.orders.service import must_be_open
from app.records.models import Customer

DIAGNOSIS = "finding out what is wrong"


@dataclass(frozen=True)
class Signed:
    """Who signed and how: a pen's path on the screen, or a paper that the shop keeps."""

    signer: Customer
    how: HowSigned
    signature: str = ""
    typed: str = ""  # their name as they typed it themselves


def accept(order: RepairOrder, signed: Signed, terms: Terms, text: str, *, agreement: Agreement, why: str = "",
           by: Actor, now: datetime) -> Acceptance:
    """Keep the very text with the signature. If the signer may approve cost, the diagnosis ceiling counts from then.

    `why`: the reason for another signature where there is one already.
    """
    must_be_open(order)
    if signed.signer.id not in (order.depositor_id, order.owner_id, order.authority_id):
        raise BadInput("Only someone of this repair can sign: who left it, owns it or may approve cost.", "signer")
    if signed.how is HowSigned.SCREEN and not is_signature(signed.signature):
        raise BadInput("Have them sign here, type their name, or sign on paper and tick the box below.", "signature")
    if signed.how is HowSigned.TYPED and (why_not := why_not_typed(signed.typed, signed.signer.name)):
        raise BadInput(why_not, "typed")
    acceptance = Acceptance(order_id=order.id, jurisdiction=terms.id, terms_checked=terms.checked, text=text,
                            text_sha256=hashlib.sha256(text.encode()).hexdigest(), fee_minor=agreement.fee_minor,
                            ceiling_minor=agreement.ceiling_minor, signer_id=signed.signer.id, signer_name=signed.signer.name,
                            how=signed.how, signature=signed.signature if signed.how is HowSigned.SCREEN else "",
                            at=now, by_name=by.name)
    session().add(acceptance)
    record(Event.TERMS_ACCEPTED, acceptance, by=by, now=now, reason=why,
           after={"signed by": acceptance.signer_name, "how": acceptance.how.value,
                  "terms": f"{terms.title}, checked {terms.checked}",
                  "SHA-256 of the text": acceptance.text_sha256})
    if signed.signer.id == order.authority_id:
        _agree(order, agreement, Channel.SIGNATURE, "", now, by=by, now=now)
    return acceptance


def agree_diagnosis(order: RepairOrder, agreement: Agreement, channel: Channel, reached_at: str, *, by: Actor,
                    now: datetime) -> CostAuthority:
    """The person who may approve cost was not there to sign: how they agreed to the ceiling of the diagnosis."""
    if channel is Channel.SIGNATURE:
        raise RuleBroken("A signature is taken with the terms.")
    return _agree(order, agreement, channel, reached_at, now, by=by, now=now)


def _agree(order: RepairOrder, agreement: Agreement, channel: Channel, reached_at: str, agreed_at: datetime, *,
           by: Actor, now: datetime) -> CostAuthority:
    consent = Consent(AuthorityFor.DIAGNOSIS, DIAGNOSIS, agreement.ceiling_minor, channel, agreed_at, reached_at)
    return authority.grant(order, consent, by=by, now=now)
