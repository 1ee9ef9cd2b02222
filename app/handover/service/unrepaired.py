"""Giving an amp back unrepaired: why, what keeps it from being switched on, and that it was said."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.errors import BadInput
from app.handover import queries
from app.handover.models import UnrepairedAcknowledgement, UnrepairedReturn
from app.handover.rules import Acknowledged, Measure, Reason, check_made_safe
from app.handover.service.writing import keep
from app.intake.rules import is_signature
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.names import why_no_witness, why_not_typed
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.orders.stages import End


@dataclass(frozen=True)
class Leaving:
    """Why it leaves, the danger in plain words, what was done; `works` says why it may still be switched on."""

    reason: Reason
    danger: str
    measures: tuple[Measure, ...]
    advice: str = ""
    works: str = ""
    tag: str = ""


@dataclass(frozen=True)
class Acknowledging:
    """Who took the warning, how, the pen's path, and who witnessed a refusal."""

    name: str
    how: Acknowledged
    signature: str = ""
    witness: str = ""
    typed: str = ""  # their name as they typed it themselves


def write_unrepaired(order: RepairOrder, what: Leaving, *, by: Actor, now: datetime) -> UnrepairedReturn:
    """Why it leaves unrepaired and how it is kept from being switched on."""
    check_made_safe(what.reason, what.danger, what.measures, what.works)
    values = {"reason": what.reason, "danger": what.danger.strip(), "advice": what.advice.strip(),
              "measures": [measure.value for measure in Measure if measure in what.measures], "works": what.works.strip(),
              "tag": what.tag.strip()}
    return keep(UnrepairedReturn, order, values, Event.UNREPAIRED_WRITTEN, by=by, now=now,
                said={"leaves unrepaired": what.reason.value, "danger": values["danger"], "done": "; ".join(values["measures"]),
                      "may be switched on because": values["works"] or None, "tag": values["tag"] or None})


def acknowledge(order: RepairOrder, given: Acknowledging, *, by: Actor, now: datetime) -> UnrepairedAcknowledgement:
    """The warning was read and signed, or refused before a witness."""
    orders.must_be_open(order)
    warned = queries.to_acknowledge(order)
    if warned is None:
        raise BadInput("Enter first why it leaves unrepaired.")
    if not given.name.strip():
        raise BadInput("Enter the name of whoever takes it.", "name")
    if given.how is Acknowledged.SCREEN and not is_signature(given.signature):
        raise BadInput("Have them sign on the screen, or choose how else it was taken.", "signature")
    if given.how is Acknowledged.REFUSED and (why := why_no_witness(given.witness, refuser=given.name, writer=by.name)):
        raise BadInput(why, "witness")
    if given.how is Acknowledged.TYPED and (why := why_not_typed(given.typed, given.name)):
        raise BadInput(why, "typed")
    refused_by = given.name.strip() if given.how is Acknowledged.REFUSED else ""
    text = queries.text_to_acknowledge(order, refused_by=refused_by)
    acknowledgement = UnrepairedAcknowledgement(
        order_id=order.id, name=given.name.strip(), how=given.how, text=text, text_sha256=queries.sha256(text), at=now,
        facts_sha256=queries.fingerprint_to_acknowledge(order), facts_version=warned.version,
        signature=given.signature if given.how is Acknowledged.SCREEN else "", by_name=by.name,
        witness=given.witness.strip() if given.how is Acknowledged.REFUSED else "")
    session().add(acknowledgement)
    record(Event.UNREPAIRED_ACKNOWLEDGED, acknowledgement, by=by, now=now,
           after={"by": acknowledgement.name, "how": acknowledgement.how.value, "witness": acknowledgement.witness or None,
                  "SHA-256 of the text": acknowledgement.text_sha256})
    return acknowledgement


def give_back_unrepaired(order: RepairOrder, *, by: Actor, now: datetime) -> None:
    """The amp is gone, unrepaired: from any stage, past the gate of this end."""
    written = queries.unrepaired(order.id)
    orders.end(order, End.UNREPAIRED, by=by, now=now, reason=written.reason.value if written else "")
