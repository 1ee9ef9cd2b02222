"""A person is taken out: found nowhere, not in the bytes of the data folder, and everything else still fits."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app.backup.backup import backup
from app.backup.verify import verify
from app.contact.models import MailMessage
from app.contact.rules import MailState
from app.contact.service import outbox
from app.db import database, session, transaction
from app.documents.models import IssuedDocument
from app.documents.rules import Kind
from app.errors import BadInput, RuleBroken
from app.exchange.export import export
from app.handover.models import CollectionNotice, Disposal
from app.handover.rules import Fate
from app.incidents import service as incidents
from app.incidents.rules import Harm, Told
from app.intake.models import Acceptance, ConditionNote
from app.intake.queries import search as found_at_counter
from app.intake.rules import Zone
from app.intake.service import records as records_service
from app.intake.service import sheets as sheets_service
from app.intake.service.merging import merge_customers
from app.journal import seals, triggers
from app.journal import service as journal
from app.journal.events import Event
from app.journal.models import JournalEntry
from app.kernel.models import HeldPost
from app.money.models import MoneyEntry
from app.money.rules import EntryKind, Method
from app.orders.models import CostAuthority, RepairOrder
from app.personal import finishing, queries, service
from app.personal.models import Erasure, KeptPaper
from app.personal.service import Wish
from app.photos.models import FileToRemove
from app.photos.store import the_store
from app.records.models import Customer
from app.records.spec import CustomerFacts
from tests import factories
from tests.documents.test_papers import issue
from tests.factories import NOW
from tests.people import BY
from tests.personal import make

LATER = NOW + timedelta(days=40)
WISH = Wish("they asked for it", ("Nailmaker", "Osric"))


def the_data_holds(folder: Path) -> Iterator[tuple[str, str]]:
    """Every trace that stands anywhere in the bytes of these files, and where."""
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        body = path.read_bytes()
        lower = body.lower()
        yield from ((trace, path.name) for trace in make.TRACES if trace.encode() in lower)


@pytest.fixture
def leaver(context: Flask) -> int:
    """The customer's id; their one repair has ended, with a receipt and a report."""
    with transaction():
        who, order = make.with_traces()
        customer_id, order_id = who.id, order.id
    issue(session().get_one(RepairOrder, order_id), Kind.RECEIPT)
    issue(session().get_one(RepairOrder, order_id), Kind.REPORT)
    with transaction() as current:
        make.ended(current.get_one(RepairOrder, order_id))
        current.add(HeldPost(id="h" * 32, person_id=None, path="/orders/1/complaint", at=NOW, files="[]", taken_at=None,
                             fields=json.dumps([["words", "Osric Thornbury says it hums"]])))
    return customer_id


def erase(customer_id: int, wish: Wish = WISH, now: datetime = LATER) -> int:
    with transaction() as current:
        done = service.erase(current.get_one(Customer, customer_id), wish, by=BY, now=now)
        erasure_id = done.erasure.id
    finishing.finish(done.forms, now)
    return erasure_id


def test_the_person_is_found_nowhere_and_everything_fits(leaver: int, context: Flask, tmp_path: Path) -> None:
    assert {trace for trace, _ in the_data_holds(tmp_path)} >= {"osric", "thornbury", "nailmaker", "godson"} or not is_sqlite()
    before = {one.seq: one.hash for one in session().scalars(sa.select(JournalEntry))}
    head = journal.head()
    erase(leaver)
    session().rollback()
    told = verify(head)
    assert told.troubles == () and "holds that head" in told.head
    assert told.erased == len(journal.erased_entries()) > 5 and "had a person erased" in told.summary
    # The chain of before stands as it stood: every hash, and with it every head that a paper prints.
    assert {one.seq: one.hash for one in session().scalars(sa.select(JournalEntry)) if one.seq in before} == before
    kept = session().scalars(sa.select(KeptPaper)).all()
    assert [one.document.kind for one in kept] == [Kind.REPORT]  # the one file that still names them
    allowed = {kept[0].document.sha256, kept[0].document.page_sha256}
    session().rollback()
    assert [one for one in the_data_holds(tmp_path) if one[1] not in allowed] == []
    export(tmp_path / "everything")
    held = {name for _, name in the_data_holds(tmp_path / "everything")}
    assert held and all("issued_document" in name for name in held)


def is_sqlite() -> bool:
    return bool(database().engine.dialect.name == "sqlite")


def test_what_law_and_safety_need_stands(leaver: int) -> None:
    order = session().scalars(sa.select(RepairOrder)).one()
    number, amp, opened = order.number, order.amp.serial, order.opened_at
    erase(leaver)
    order = session().scalars(sa.select(RepairOrder)).one()
    assert (order.number, order.amp.serial, order.opened_at) == (number, amp, opened)
    notes = session().scalars(sa.select(ConditionNote.note).order_by(ConditionNote.id)).all()
    token = f"Erased person {leaver}"
    assert notes == [f"Hum heard with the customer: {token} rang from [erased] about it.", f"He is called {token} by everybody."]
    entry = session().scalars(sa.select(CostAuthority).order_by(CostAuthority.id.desc())).first()
    assert entry is not None and (entry.ceiling_minor, entry.agreed_by, entry.reached_at) == (20000, token, "[erased]")
    signed = session().scalars(sa.select(Acceptance)).one()
    assert (signed.signer_name, signed.signature, signed.fee_minor) == (token, "M0 0", 8500)
    notice = session().scalars(sa.select(CollectionNotice)).one()
    assert notice.addressed_to == token and "[erased]" in notice.address and notice.proof == "RP 4471 882"


def test_receipt_goes_and_report_is_kept_until_the_law_s_day(leaver: int) -> None:
    """New South Wales: five years, Australian Taxation Office (retention.toml). The report is of 2 March 2026."""
    receipt, report = session().scalars(sa.select(IssuedDocument).order_by(IssuedDocument.id)).all()
    old = [receipt.sha256, receipt.page_sha256]
    erase(leaver)
    session().rollback()
    receipt, report = session().scalars(sa.select(IssuedDocument).order_by(IssuedDocument.id)).all()
    assert not any(the_store().has(one) for one in old) and the_store().has(report.sha256)
    said = the_store().get(receipt.sha256).decode()
    assert "Receipt, revision 1" in said and "was removed on" in said and not receipt.is_pdf
    kept = session().scalars(sa.select(KeptPaper)).one()
    assert (kept.document_id, kept.until) == (report.id, date(2031, 3, 2)) and "Australian Taxation Office" in kept.why
    with transaction(), pytest.raises(RuleBroken, match="kept until 2 Mar 2031"):
        service.end_keeping(session().get_one(KeptPaper, kept.id), by=BY, now=datetime(2031, 3, 1, tzinfo=NOW.tzinfo))
    over = datetime(2031, 3, 3, tzinfo=NOW.tzinfo)
    assert [one.id for one in queries.kept_over(over.date())] == [kept.id]
    body = kept.document.sha256
    with transaction():
        service.end_keeping(session().get_one(KeptPaper, kept.id), by=BY, now=over)
    finishing.finish((), over)
    assert not the_store().has(body) and queries.kept_over(over.date()) == [] and verify().troubles == ()


def test_nobody_else_is_touched(leaver: int) -> None:
    """A brother of one phone, and a wire of a colour that is somebody's name."""
    with transaction():
        brother = factories.customer("Alaric Thornbury", phone=make.PHONE, email="alaric@thornbury.example")
        other = factories.order(customer=brother)
        said = "Green wire loose; call +61 491 570 006."
        session().add(ConditionNote(order_id=other.id, zone="front", note=said, at=NOW, by_name="Ines"))
        green = factories.customer("Green", phone="555 0000", email="")
        theirs = make.ended(factories.order(customer=green))
        session().add(ConditionNote(order_id=theirs.id, zone="front", note="Green wire loose.", at=NOW, by_name="Ines"))
        session().flush()
        ids = brother.id, green.id, other.id, theirs.id
    with transaction():
        make.ended(session().get_one(RepairOrder, ids[2]), NOW)
    assert [one.id for one in queries.scope.others_alike(session().get_one(Customer, leaver))] == [ids[0]]
    erase(leaver)
    erase(ids[1], Wish("they asked for it"))
    session().rollback()
    assert session().get_one(Customer, ids[0]).phone == make.PHONE
    notes = {one.order_id: one.note for one in session().scalars(sa.select(ConditionNote)) if one.order_id in ids[2:]}
    assert notes == {ids[2]: "Green wire loose; call +61 491 570 006.", ids[3]: "Green wire loose."}
    assert session().get_one(Customer, ids[1]).name == f"Erased person {ids[1]}" and verify().troubles == ()


def test_search_does_not_find_an_erased_person(leaver: int) -> None:
    def found(typed: str) -> int:
        shown = found_at_counter.records(typed)
        return len(shown.customers) + len(shown.orders) + len(found_at_counter.matches(typed))

    words = ("Thornbury", "osric", "570 006", make.EMAIL)
    assert all(found(one) for one in words)
    erase(leaver)
    session().rollback()
    assert [found(one) for one in words] == [0, 0, 0, 0]
    with transaction(), pytest.raises(RuleBroken, match="erased from the records"):
        factories.order(customer=session().get_one(Customer, leaver))
    with transaction(), pytest.raises(RuleBroken, match="erased from the records"):
        records_service.change_customer(session().get_one(Customer, leaver), CustomerFacts("Osric", "1"), by=BY, now=LATER)


def test_refused_in_words_while_something_is_open(leaver: int) -> None:
    customer = session().get_one(Customer, leaver)
    order = session().scalars(sa.select(RepairOrder)).one()
    number = order.number
    with transaction() as current:
        order = current.get_one(RepairOrder, order.id)
        open_ = factories.order(customer=current.get_one(Customer, leaver)).number
        current.add(MoneyEntry(order_id=order.id, kind=EntryKind.CARRIED, amount_minor=12000, method=Method.NOTHING,
                               note="next week", paid_at=NOW, recorded_at=NOW, taken_by="Mara"))
        hurt = incidents.record_incident(incidents.Happened("Osric Thornbury", Harm.SERIOUS, "a shock", "on stage", NOW, NOW),
                                         incidents.About(None, current.get_one(Customer, leaver), None), by=BY, now=NOW)
        current.flush()
        hurt_id = hurt.id
        current.add(Disposal(order_id=order.id, fate=Fate.SOLD, account="to a bidder", law_checked="Mara", at=NOW,
                             kept_until=date(2032, 3, 2), by_name="Mara"))
    with transaction(), pytest.raises(BadInput) as refused:
        service.erase(session().get_one(Customer, leaver), WISH, by=BY, now=LATER)
    for words in (f"Repair {open_} is open", f"of repair {number} is unpaid", "120.00", f"Incident {hurt_id} is open",
                  "until 2 Mar 2032"):
        assert words in refused.value.words
    session().rollback()
    assert session().get_one(Customer, leaver).name == make.NAME and customer.erased_at is None
    with transaction() as current:
        make.ended(current.scalars(sa.select(RepairOrder).where(RepairOrder.number == open_)).one())
        hurt = current.get_one(incidents.Incident, hurt_id)
        incidents.add_entry(hurt, incidents.Said(Told.NOT_DUE, "no harm", NOW), by=BY, now=NOW)
    past = datetime(2032, 3, 5, tzinfo=NOW.tzinfo)
    with transaction(), pytest.raises(BadInput, match="is unpaid"):
        service.erase(session().get_one(Customer, leaver), WISH, by=BY, now=past)
    erasure_id = erase(leaver, replace(WISH, settled_words="paid in cash on 3 April"), past)
    session().rollback()
    assert "paid in cash" in session().get_one(Erasure, erasure_id).settled_words and verify().troubles == ()
    with transaction(), pytest.raises(BadInput, match="erased already"):
        service.erase(session().get_one(Customer, leaver), WISH, by=BY, now=past)


def test_an_erasure_that_breaks_off_is_not_done(leaver: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """All of it is one transaction: after any statement, nothing of it stands, and the guards do."""
    head = journal.head()
    monkeypatch.setattr(service.erasing, "named", lambda _changed: 1 / 0)
    with pytest.raises(ZeroDivisionError), transaction():
        service.erase(session().get_one(Customer, leaver), WISH, by=BY, now=LATER)
    session().rollback()
    assert journal.head() == head and session().get_one(Customer, leaver).name == make.NAME
    assert triggers.missing(session().connection()) == []
    assert [one.removed_at for one in session().scalars(sa.select(FileToRemove))] == []
    assert verify().troubles == ()


def test_files_that_a_kill_left_are_removed_at_the_next_act(leaver: int) -> None:
    with transaction():
        service.erase(session().get_one(Customer, leaver), WISH, by=BY, now=LATER)
    listed = [one.sha256 for one in session().scalars(sa.select(FileToRemove))]
    assert listed and all(the_store().has(one) for one in listed)
    assert any("is to be removed and is still there" in one for one in verify().troubles)
    session().rollback()
    finishing.finish((), LATER)
    assert not any(the_store().has(one) for one in listed) and verify().troubles == ()


def test_an_entry_that_was_erased_is_still_guarded(leaver: int) -> None:
    """What stands there since is held against the entry that tells of the erasure; that entry against the chain."""
    erase(leaver)
    session().rollback()
    seq = min(journal.erased_entries())
    session().rollback()
    with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
        triggers.lift(raw)
        raw.execute(sa.text("UPDATE journal_entry SET reason = 'nothing' WHERE seq = :seq"), {"seq": seq})
        triggers.protect(raw)
    assert [one.seq for one in journal.verify()] == [seq]


def test_hashes_do_not_tell_who_was_erased(leaver: int) -> None:
    """Without the salt, whoever guesses the name cannot check the guess against the hash that stays."""
    from app.journal.rules import COVERED, entry_hash

    added = session().scalars(sa.select(JournalEntry).where(JournalEntry.event == Event.CUSTOMER_ADDED.value)).first()
    assert added is not None
    guess = {name: getattr(added, name) for name in COVERED} | {"at": journal.stamp(added.at)}
    assert entry_hash(added.previous_hash, {**guess, "salt": added.salt}) == added.hash != entry_hash(added.previous_hash, guess)
    seq = added.seq
    erase(leaver)
    session().rollback()
    assert session().get_one(JournalEntry, seq).salt == ""
    sealed = [json.loads(one) for one in session().scalars(sa.select(JournalEntry.after).where(
        JournalEntry.event == Event.RECORDS_SEALED.value))]
    assert sum(f"customer {leaver}" in one for one in sealed) == 1  # the one of the erased row; no hash of the row of before


def test_backup_of_after_holds_nobody(leaver: int, tmp_path: Path) -> None:
    erase(leaver)
    session().rollback()
    place = tmp_path / "kept"
    place.mkdir()
    backup(place / "after.tar")
    report = session().scalars(sa.select(KeptPaper)).one().document
    body = (place / "after.tar").read_bytes()
    for sha256 in (report.sha256, report.page_sha256):  # the one that the law keeps
        body = body.replace(the_store().get(sha256), b"")
    assert [trace for trace in make.TRACES if trace.encode() in body.lower()] == []


def test_in_a_shop_of_before_the_chain_holds_and_the_paper_says_what_stays(context: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    """0.1.0 hashed without a salt."""
    with monkeypatch.context() as before:
        before.setattr(journal, "fresh_salt", lambda: "")
        before.setattr(seals, "fresh_salt", lambda: "")
        with transaction():
            who, order = make.with_traces()
            make.ended(order)
            customer_id = who.id
    assert session().scalars(sa.select(JournalEntry.salt).order_by(JournalEntry.seq.desc())).first() == ""
    erase(customer_id)
    session().rollback()
    assert verify().troubles == ()
    told = session().scalars(sa.select(Erasure)).one().told
    assert any("before the journal’s hashes had a salt" in one for one in told["beyond"])


def test_records_that_were_merged_into_theirs_go_with_them(leaver: int, tmp_path: Path) -> None:
    """The same person came twice: the other record keeps its name and number after the merging, and is theirs too."""
    with transaction() as current:
        kept = current.get_one(Customer, leaver)
        other = factories.customer("Osric Thornbury", phone=kept.phone)
        current.flush()
        other_id = other.id
        merge_customers(kept, other, "the same person", by=BY, now=NOW)
    with pytest.raises(RuleBroken, match="merged into that of"):
        erase(other_id)
    erase(leaver)
    with transaction() as current:
        again = current.get_one(Customer, other_id)
        assert again.erased_at is not None and again.name.startswith("Erased person") and not again.phone
        assert not verify().troubles
        words = json.dumps([[one.before, one.after, one.reason] for one in current.scalars(sa.select(JournalEntry))])
    assert "Thornbury" not in words


def test_a_message_on_its_way_is_withdrawn_with_the_erasure(leaver: int) -> None:
    """Also where no mail server is set, so that nobody works the outbox off."""
    with transaction() as current:
        made = outbox.queue(current.get_one(Customer, leaver), None, outbox.Draft((make.EMAIL,), "Ready", "Hello Osric Thornbury"),
                            by=BY, now=NOW)
        current.flush()
        message_id = made.id
    erase(leaver)
    session().rollback()
    message = session().get_one(MailMessage, message_id)
    assert [one.state for one in message.recipients] == [MailState.WITHDRAWN]
    assert "Thornbury" not in message.body and verify().troubles == ()


def test_nobody_is_erased_whose_money_the_shop_holds(leaver: int) -> None:
    with transaction() as current:
        order = current.scalars(sa.select(RepairOrder)).one()
        current.add(MoneyEntry(order_id=order.id, kind=EntryKind.DEPOSIT, amount_minor=4000, method=Method.CARD, paid_at=NOW,
                               recorded_at=NOW, taken_by="Mara"))
    with transaction(), pytest.raises(BadInput, match="40.00 of repair 1001 is owed to the customer. Record the refund first."):
        service.erase(session().get_one(Customer, leaver), replace(WISH, settled_words="paid back"), by=BY, now=LATER)


@pytest.mark.parametrize(("further", "said"), [((), True), (("Green",), False)])
def test_a_name_of_one_word_is_said_to_stay_in_texts_unless_it_was_pointed_out(
        context: Flask, further: tuple[str, ...], said: bool) -> None:
    with transaction():
        who = factories.customer("Green")
        order = factories.order(customer=who)
        sheets_service.note_condition(order, Zone.FRONT, "Green wants it by Friday.", by=BY, now=NOW)
        make.ended(order)
        session().flush()
        customer_id = who.id
    erasure_id = erase(customer_id, replace(WISH, further=further))
    session().rollback()
    beyond = session().get_one(Erasure, erasure_id).told["beyond"]
    assert any("a name of a single word" in one for one in beyond) is said
    assert ("Green wants" in session().scalars(sa.select(ConditionNote)).one().note) is said
