"""Papers as they are issued: what is in the PDF, that it is frozen, and that revisions name each other."""

from __future__ import annotations

import hashlib
import html
import io
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from flask import Flask
from sqlalchemy.exc import DBAPIError

from app.backup.verify import verify
from app.boards import service as boards_service
from app.boards.rules import BoardKind, Fate, PartKind, Reason
from app.boards.spec import BoardFacts, PositionFacts
from app.db import session, transaction
from app.documents import queries, service
from app.documents.make import make
from app.documents.models import IssuedDocument
from app.documents.paper import paper
from app.documents.rules import Kind
from app.errors import RuleBroken
from app.findings.queries import findings_of
from app.intake.queries.receipt import receipt_facts
from app.orders.models import RepairOrder
from app.photos import pins
from app.photos.store import the_store
from tests import factories
from tests.documents import make as story
from tests.factories import NOW
from tests.handover import make as hand
from tests.people import BY


def issue(order: RepairOrder, kind: Kind, about: int = 0) -> IssuedDocument:
    made = make(order, paper(order, kind, about), now=NOW)
    with transaction():
        return service.issue(session().get_one(RepairOrder, order.id), made, by=BY, now=NOW)


def words_of(pdf: bytes, folder: Path) -> str:
    """What pdftotext (poppler) reads, white space folded."""
    path = folder / "paper.pdf"
    path.write_bytes(pdf)
    told = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True).stdout
    return re.sub(r"\s+", " ", told)


def elements(pdf: pikepdf.Pdf) -> Iterator[Any]:
    """Every element of the structure tree."""
    waiting = [pdf.Root.StructTreeRoot]
    while waiting:
        kids = waiting.pop().get("/K")
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
                yield kid
                waiting.append(kid)


def test_receipt_says_all_that_the_counter_wrote_down(context: Flask, tmp_path: Path) -> None:
    with transaction():
        order = story.taken_in()
    issued = issue(order, Kind.RECEIPT)
    pdf = the_store().get(issued.sha256)
    assert hashlib.sha256(pdf).hexdigest() == issued.sha256
    told = words_of(pdf, tmp_path)
    facts = receipt_facts(order)
    assert facts.signature is not None
    for wanted in (facts.goods.serial, facts.goods.mains_marking, "1 × footswitch, 1 × mains lead", "AUD 120.00",
                   "blows its fuse about ten minutes into a set", "grille torn at the left", "the oxblood cloth",
                   f"Repair {facts.number}", "page 1 of", f"journal {issued.journal_hash[:16]}"):
        assert wanted in told, wanted
    assert facts.signature.text_sha256 in told.replace(" ", "")


def test_report_is_tagged_for_readers(context: Flask, tmp_path: Path) -> None:
    """PDF/UA-1 (ISO 14289-1): marked, a language, a title that is shown, headers with their scope, figures with words."""
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
        hand.settle_all(order, 8500)
        hand.sign(order)
    report = issue(order, Kind.REPORT)
    with pikepdf.open(io.BytesIO(the_store().get(report.sha256))) as pdf:
        assert pdf.Root.MarkInfo.Marked and str(pdf.Root.Lang) == "en-GB" and pdf.Root.ViewerPreferences.DisplayDocTitle
        with pdf.open_metadata() as told:
            assert told["pdfuaid:part"] == "1" and "Tarnholt Meridian 30" in told["dc:title"]
        found = list(elements(pdf))
        heads = [one for one in found if one.S == "/TH"]
        scopes = {str(a.Scope) for one in heads for a in (one.A if isinstance(one.A, pikepdf.Array) else [one.A])
                  if a.get("/O") == "/Table"}
        assert len(heads) > 20 and scopes == {"/Column", "/Row"}
        assert all("Scope" in str(list(one.A.keys()) if isinstance(one.A, pikepdf.Dictionary) else
                                  [list(a.keys()) for a in one.A]) for one in heads)
        names = [bytes(one.ID) for one in found if "/ID" in one]
        leaf = pdf.Root.StructTreeRoot.IDTree.Kids[0]
        assert [bytes(name) for name in list(leaf.Names)[::2]] == sorted(names)
        figures = [one for one in found if one.S == "/Figure"]
        assert len(figures) >= 5 and all(str(one.get("/Alt", "")).strip() for one in figures)
        assert [str(one.S) for one in found].count("/H1") == 1
        fonts = [one for one in pdf.objects if isinstance(one, pikepdf.Dictionary) and one.get("/Type") == "/FontDescriptor"]
        assert len(fonts) >= 4 and all("/FontFile2" in one or "/FontFile3" in one for one in fonts), "every font is inside"
        assert not [one for one in pdf.objects if isinstance(one, pikepdf.Dictionary) and "/URI" in one]
    told = words_of(the_store().get(report.sha256), tmp_path)
    for wanted in ("Fuse carrier bridged with wire.", "Proved: marking photographed, running current 0.71 A", "441 V", "402 V",
                   "455 V", "It passed these tests on this date", "New fuse carrier and the marked fuse", "90 days", "AUD 72.60",
                   "Clean and lubricate the controls", "three supply capacitors, in a bag", "Wren Adler"):
        assert wanted in told, wanted


def test_report_numbers_its_findings_on_their_photos_and_sums_the_board_sheets(context: Flask, tmp_path: Path) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
        pinned = next(one for one in findings_of(order) if one.observation.startswith("Fuse carrier"))
        shot = pins.of_record("finding", pinned.id)[0]
        pins.drop(shot.photo, "finding", next(one.id for one in findings_of(order) if one is not pinned), "2", x=0.25, y=0.75,
                  by=BY, now=NOW)
        assert "board parts" not in paper(order, Kind.REPORT).page
        board = boards_service.record_board(order, BoardFacts("preamp", BoardKind.TAG), by=BY, now=NOW)
        for name, fate, reason in (("R1", Fate.KEEP, Reason.ORIGINAL), ("R2", Fate.KEEP, Reason.ORIGINAL),
                                   ("R3", Fate.REPLACE, Reason.DRIFTED), ("C1", Fate.REPLACE, Reason.ALTERED), ("C2", None, None)):
            facts = PositionFacts(name, PartKind.RESISTOR, fate=fate, reason=reason)
            boards_service.record_position(board, order, facts, by=BY, now=NOW)
    page = paper(order, Kind.REPORT).page
    assert page.count('aria-label="Numbered on this photo: 1, 2"') == 2
    high = 1000 * shot.photo.height / shot.photo.width
    assert f'<circle cx="500.0" cy="{round(0.5 * round(high), 1)}"' in page and '<circle cx="250.0"' in page
    assert page.count('<span class="doc-nr">') == 2
    told = re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page))
    for wanted in ("2 of the 5 board parts we checked original", "2 of the 5 board parts we checked replaced",
                   "1 of the 5 board parts we checked altered by earlier hands",
                   "1 of the 5 board parts we checked not decided yet"):
        assert wanted in told, wanted
    pdf = the_store().get(issue(order, Kind.REPORT).sha256)
    assert "of the 5 board parts we checked original" in words_of(pdf, tmp_path)


def test_paper_and_screen_hold_the_same_figures(context: Flask, tmp_path: Path) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
    for kind in (Kind.RECEIPT, Kind.ESTIMATE):
        page = paper(order, kind).page
        on_screen = set(re.findall(r"\d+(?:[.,]\d+)*", html.unescape(re.sub(r"<[^>]*>", " ", page))))
        on_paper = set(re.findall(r"\d+(?:[.,]\d+)*", words_of(the_store().get(issue(order, kind).sha256), tmp_path)))
        assert len(on_screen) > 20 and {one for one in on_screen if len(one) < 20} <= on_paper, on_screen - on_paper


def test_issued_paper_is_frozen_and_the_next_revision_names_it(context: Flask, tmp_path: Path) -> None:
    with transaction():
        order = story.taken_in()
    first = issue(order, Kind.RECEIPT)
    bytes_then, sha_then = the_store().get(first.sha256), first.sha256
    assert paper(order, Kind.RECEIPT).facts_sha256 == first.facts_sha256
    with transaction():
        session().get_one(RepairOrder, order.id).shelf = "B2"
        story.picture(session().get_one(RepairOrder, order.id), "rear")
    assert paper(order, Kind.RECEIPT).facts_sha256 != first.facts_sha256
    second = issue(order, Kind.RECEIPT)
    assert (second.revision, second.replaces_id) == (2, first.id) and queries.replaced(order.id) == {first.id}
    assert "revision 2, replaces revision 1" in words_of(the_store().get(second.sha256), tmp_path)
    assert the_store().get(sha_then) == bytes_then and queries.newest(order.id, Kind.RECEIPT) is second
    with pytest.raises(DBAPIError, match="refused"), transaction():
        session().get_one(IssuedDocument, first.id).issued_by = "somebody else"
        session().flush()
    assert verify().troubles == ()


def test_two_people_issue_the_same_revision_and_one_is_told(context: Flask) -> None:
    with transaction():
        order = factories.order()
    made = [make(order, paper(order, Kind.RECEIPT), now=NOW, as_page=True) for _ in range(2)]
    with transaction():
        service.issue(session().get_one(RepairOrder, order.id), made[0], by=BY, now=NOW)
    with pytest.raises(RuleBroken, match="at the same moment"), transaction():
        service.issue(session().get_one(RepairOrder, order.id), made[1], by=BY, now=NOW)
    assert len(queries.of_order(order.id)) == 1
