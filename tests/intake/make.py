"""Records of the counter, made as the counter makes them. Call inside `with transaction():`."""

from __future__ import annotations

import io
from datetime import datetime

from PIL import Image

from app.db import session
from app.documents import queries as issued
from app.documents import service as documents
from app.documents.models import PAGE, IssuedDocument
from app.documents.paper import paper
from app.documents.rules import Kind
from app.documents.service import Made
from app.intake.models import HowSigned
from app.intake.queries import sheets as sheets_queries
from app.intake.rules import Looked
from app.intake.service import checking_in as checking_in_service
from app.intake.service import danger as danger_service
from app.intake.service import records as records_service
from app.intake.service import sheets as sheets_service
from app.intake.service import signing as signing_service
from app.intake.service.checking_in import ComplaintFacts
from app.intake.service.sheets import Offer
from app.intake.service.signing import Signed
from app.intake.terms import for_jurisdiction, text_to_sign
from app.journal import service as journal
from app.journal.service import Actor
from app.orders.models import RepairOrder
from app.photos import service as photos
from app.photos.prepare import Prepared
from app.photos.store import the_store
from app.records.spec import AmpFacts
from tests.factories import NOW
from tests.people import BY

PEN = "M40 120L60 80L90 140L130 70L170 130L230 90"


def jpeg(colour: str = "#7d5a38") -> bytes:
    """A small photo."""
    made = io.BytesIO()
    Image.new("RGB", (320, 240), colour).save(made, "JPEG")
    return made.getvalue()


def photo(order: RepairOrder, place: str = "front", *, by: Actor = BY, now: datetime = NOW) -> None:
    """A condition photo whose bytes nobody asks for."""
    hashes = [f"{order.id:064x}"] * 3
    made = Prepared(hashes[0], hashes[1], hashes[2], "image/jpeg", 320, 240, None)
    photos.add(order, made, place=place, by=by, now=now)


def sign(order: RepairOrder, *, how: HowSigned = HowSigned.SCREEN, by: Actor = BY, now: datetime = NOW) -> None:
    """The depositor signs the terms."""
    offered = sheets_queries.agreement(order.id) or sheets_service.offer(order, Offer(8500, True, 12000), by=by, now=now)
    terms = for_jurisdiction("au-nsw")
    text = text_to_sign(terms, shop="Lowgate", amp=order.amp.title, fee="AUD 85.00", fee_credited=True,
                        ceiling="AUD 120.00", day="2 Mar 2026")
    signing_service.accept(order, Signed(order.depositor, how, PEN if how is HowSigned.SCREEN else ""), terms, text,
                   agreement=offered, by=by, now=now)


def finish(order: RepairOrder, *, by: Actor = BY, now: datetime = NOW) -> RepairOrder:
    """Everything that intake asks for, so that the order may go on to teardown."""
    amp = order.amp
    checking_in_service.complain(order, ComplaintFacts("it hums, then goes quiet"), by=by, now=now)
    records_service.change_amp(amp, AmpFacts(amp.maker, amp.model, amp.serial or "none found", "230 V 50 Hz 120 W",
                                     type(amp.protection_class)("I")), by=by, now=now)
    for view in ("front", "serial and mains marking"):
        photo(order, view, by=by, now=now)
    sheets_service.count(order, {"footswitch": 1}, by=by, now=now)
    danger_service.look(order, Looked(), by=by, now=now)
    sign(order, by=by, now=now)
    receipt(order, by=by, now=now)
    return order


def receipt(order: RepairOrder, *, by: Actor = BY, now: datetime = NOW) -> IssuedDocument:
    """The receipt is issued; its page lies in the store as it is, since nobody prints it."""
    session().flush()
    ready, before = paper(order, Kind.RECEIPT), issued.newest(order.id, Kind.RECEIPT)
    page = ready.page.encode()
    kept = the_store().put(page)
    whole = b"<!doctype html>\n<html lang=en><title>Receipt</title>" + page + b"</html>"
    as_file = the_store().put(whole)
    made = Made(Kind.RECEIPT, 0, before.revision + 1 if before else 1, as_file, kept, ready.facts_sha256, ready.facts.version,
                ready.draft, PAGE, len(whole), journal.head())
    return documents.issue(order, made, by=by, now=now)
