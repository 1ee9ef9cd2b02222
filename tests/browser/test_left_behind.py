"""What stays readable on a shared tablet once somebody has pressed Switch: nothing, tried in a real browser.

OWASP ASVS 5.0, 14.3.1 and 14.3.2 (client data is cleared, answers are not stored); RFC 9111, 5.2.2.5 (no-store).
"""

from __future__ import annotations

import json
import re

import pytest
from cryptography.hazmat.primitives.ciphers import Cipher
from cryptography.hazmat.primitives.ciphers.algorithms import ChaCha20
from flask import Flask
from playwright.sync_api import Page, expect

from app.db import transaction
from tests.findings.make import order_at
from tests.people import Cast
from tests.photos.make import photo, the_order
from tests.served import ready, sign_in

pytestmark = pytest.mark.browser
WORDS = "Came in humming at Wrenfield Street"
STORED = "JSON.stringify([{...localStorage}, {...sessionStorage}])"
DRAFT = "localStorage.getItem(Object.keys(localStorage).find(key => key.startsWith('tagstrip-draft:')))"
# Whether the browser still has an answer of this address, whatever the shop would say now.
CACHED = "address => fetch(address, {cache: 'only-if-cached', mode: 'same-origin'}).then(answer => answer.status, () => 0)"


@pytest.fixture
def engine_name() -> str:
    return "sqlite"


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        return order_at().id


@pytest.fixture
def photo_id(app: Flask, order_id: int) -> int:
    with app.app_context(), transaction():
        return photo(the_order(order_id)).id


def open_page(page: Page, path: str) -> None:
    page.goto(path)
    ready(page)


def switch(page: Page) -> None:
    page.get_by_role("button", name="Switch").tap()
    page.wait_for_url("**/people/sign-in")
    ready(page)


def type_words(page: Page, order_id: int) -> None:
    open_page(page, f"/orders/{order_id}/intake/complaint")
    page.fill("textarea[name=words]", WORDS)
    page.locator("textarea[name=words]").blur()


def test_back_shows_no_page_and_no_photo_of_who_left(tablet: Page, order_id: int, photo_id: int) -> None:
    file = f"/photos/{photo_id}/web"
    open_page(tablet, f"/photos/{photo_id}")
    tablet.goto(file)
    open_page(tablet, f"/orders/{order_id}")
    switch(tablet)
    for _ in range(3):
        tablet.go_back()
        expect(tablet).to_have_title(re.compile("Sign in"))
    for address in (file, f"/photos/{photo_id}/thumb", f"/orders/{order_id}", f"/photos/{photo_id}"):
        assert tablet.evaluate(CACHED, address) in (0, 504), address


def test_a_photo_in_the_browsers_store_is_no_other_persons_to_see(tablet: Page, photo_id: int) -> None:
    """Nor is it shown by a script of the page that asks for whatever is stored, however old."""
    open_page(tablet, f"/photos/{photo_id}")
    switch(tablet)
    told = tablet.evaluate("address => fetch(address, {cache: 'force-cache'}).then(answer => answer.url)",
                           f"/photos/{photo_id}/web")
    assert "/people/sign-in" in told


def test_no_draft_can_be_read_without_the_sign_in_that_typed_it(tablet: Page, app: Flask, address: str, order_id: int,
                                                                cast: Cast) -> None:
    type_words(tablet, order_id)
    assert "draft" in tablet.evaluate(STORED)
    assert "humming" not in tablet.evaluate(STORED) and "Wrenfield" not in tablet.evaluate(STORED)
    switch(tablet)
    assert "humming" not in tablet.evaluate(STORED) and "data-draft-key" not in tablet.content()
    sign_in(tablet.context, app, address, cast.counter.id)
    open_page(tablet, f"/orders/{order_id}/intake/complaint")
    assert tablet.input_value("textarea[name=words]") == ""
    key = tablet.evaluate("document.body.dataset.draftKey")
    sign_in(tablet.context, app, address, cast.technician.id)
    open_page(tablet, f"/orders/{order_id}/intake/complaint")
    assert tablet.input_value("textarea[name=words]") == WORDS
    assert tablet.evaluate("document.body.dataset.draftKey") != key


def test_what_is_stored_is_chacha20_as_a_library_knows_it(tablet: Page, order_id: int) -> None:
    """RFC 8439, 2.4, against the library `cryptography` (its nonce is the counter, little-endian, before the 96 bits)."""
    type_words(tablet, order_id)
    draft = json.loads(tablet.evaluate(DRAFT))
    key = bytes.fromhex(tablet.evaluate("document.body.dataset.draftKey"))
    nonce, sealed = (bytes.fromhex(draft[name]) for name in ("nonce", "sealed"))
    assert len(key) == 32 and len(nonce) == 12
    opened = Cipher(ChaCha20(key, (1).to_bytes(4, "little") + nonce), None).decryptor().update(sealed)
    assert WORDS in opened.decode()


def test_the_cipher_gives_the_example_of_its_standard(tablet: Page) -> None:
    """RFC 8439, 2.4.2: the sunscreen text, key 00 01 … 1f, counter 1."""
    open_page(tablet, "/")
    told = tablet.evaluate("""async () => {
        const { chacha20 } = await import('/static/js/seal.mjs');
        const key = Uint8Array.from({ length: 32 }, (_, at) => at);
        const nonce = Uint8Array.from([0, 0, 0, 0, 0, 0, 0, 0x4a, 0, 0, 0, 0]);
        const text = new TextEncoder().encode("Ladies and Gentlemen of the class of '99: If I could offer you only one tip for the "
            + "future, sunscreen would be it.");
        return [...chacha20(key, nonce, text)].map((one) => one.toString(16).padStart(2, '0')).join('');
    }""")
    assert told == ("6e2e359a2568f98041ba0728dd0d6981e97e7aec1d4360c20a27afccfd9fae0bf91b65c5524733ab8f593dabcd62b3571639d624e6515"
                    "2ab8f530c359f0861d807ca0dbf500d6a6156a38e088a22b65e52bc514d16ccf806818ce91ab77937365af90bbf74a35be6b40b8eedf2785e42"
                    "874d")


def test_two_stores_of_the_same_words_share_no_nonce(tablet: Page, order_id: int) -> None:
    seen = set()
    for _ in range(4):
        type_words(tablet, order_id)
        tablet.fill("textarea[name=words]", WORDS + "!")
        tablet.locator("textarea[name=words]").blur()
        seen.add(json.loads(tablet.evaluate(DRAFT))["nonce"])
    assert len(seen) == 4


def test_a_draft_of_an_older_edition_is_sealed_by_its_own_persons_next_page(tablet: Page, order_id: int) -> None:
    open_page(tablet, "/")
    key = f"tagstrip-draft:Ines:/orders/{order_id}/intake/complaint"
    tablet.evaluate("([key, words]) => localStorage.setItem(key, JSON.stringify({at: Date.now(), first: '[]', "
                    "values: [['words', null, words]]}))", [key, WORDS])
    open_page(tablet, "/")
    assert "humming" not in tablet.evaluate(STORED) and key in tablet.evaluate(STORED)
