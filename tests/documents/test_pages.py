"""Papers on the screen: the same page as on paper, issued once, and a way on where no PDF can be made."""

from __future__ import annotations

import re

import pytest
from flask import Flask

from app.db import transaction
from app.documents import pdf
from app.documents.rules import Kind, css_string, file_name, photos_in
from app.photos.store import the_store
from tests.documents import make as story
from tests.documents.children import WITHOUT_PANGO
from tests.pages import PageClient


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        return story.taken_in().id


def test_name_of_a_file_is_ours() -> None:
    assert file_name(1047, Kind.REPORT, 2, "application/pdf") == "repair-1047-report-r2.pdf"


def test_words_in_a_style_sheet_cannot_leave_their_string() -> None:
    """CSS Syntax Level 3, 4.3.7: a backslash and up to six hexadecimal digits are one sign, a blank after them is eaten."""
    said = css_string('Lug "&" Eye\\\n; } @page é')
    assert re.fullmatch(r'"(?:[A-Za-z0-9 ]|\\[0-9a-f]{6} )*"', said)
    assert re.sub(r"\\([0-9a-f]{6}) ", lambda m: chr(int(m[1], 16)), said[1:-1]) == 'Lug "&" Eye\\\n; } @page é'


def test_receipt_is_read_issued_and_opened(app: Flask, counter: PageClient, technician: PageClient, order_id: int) -> None:
    at = f"/orders/{order_id}/papers"
    page = counter.get(f"{at}/receipt")
    assert "It is not issued yet." in page.words and "grille torn at the left" in page.words
    page = counter.post(f"{at}/receipt")
    assert "Receipt, revision 1, is issued and frozen." in page.words and "grille torn at the left" in page.words
    link = next(one for one in page.links() if one.endswith("/file"))
    answer = counter.client.get(link)
    assert answer.mimetype == "application/pdf" and answer.data.startswith(b"%PDF-")
    assert answer.headers["Content-Disposition"] == 'inline; filename="repair-1001-receipt-r1.pdf"'
    assert "says just this" in technician.get(f"{at}/receipt").words
    assert "Receipt, revision 1" in counter.get(f"/orders/{order_id}").words
    counter.get("/papers/999", status=404)
    counter.get(f"{at}/nothing", status=404)


def test_report_on_the_screen_shows_its_photos(app: Flask, counter: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = story.repaired(story.quoted(story.taken_in())).id
    page = counter.get(f"/orders/{order_id}/papers/report")
    shown = [e.get("src", "") for e in page.all("img")]
    assert len(shown) >= 3 and all(re.fullmatch(r"/photos/\d+/web|/photos/\d+/file.*|/photo.*", one) for one in shown), shown
    assert counter.client.get(shown[0]).mimetype == "image/jpeg"
    assert "paper:" not in page.text


def test_without_pdfs_it_is_issued_as_a_page_to_print(app: Flask, counter: PageClient, order_id: int,
                                                     monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf, "shared", pdf.Renderer(WITHOUT_PANGO))
    at = f"/orders/{order_id}/papers/receipt"
    page = counter.post(at, status=503)
    assert "until Pango is installed" in page.words and "to print from the browser" in page.words
    fields = page.fields(at)
    assert fields["as_page"] == "yes"
    page = counter.send(at, fields)
    answer = counter.client.get(next(one for one in page.links() if one.endswith("/file")))
    assert answer.mimetype == "text/html" and answer.headers["Content-Disposition"].startswith("attachment;")
    assert not re.search(r'(?:src|href|url\()\s*=?\s*"?(?:paper:|https?:|/)', answer.text)
    with app.app_context():
        assert the_store().has(page.words.split("Fingerprint (SHA-256) ")[1][:64])
        assert photos_in(answer.text) == {}
