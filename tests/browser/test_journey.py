"""The whole way in a real browser: three people at a tablet's size, with touch, photos, a pen, and a PDF at the end."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pikepdf
import pytest
from flask import Flask
from playwright.sync_api import Browser

from tests.browser.hands import BrowserHand
from tests.journeys import story
from tests.journeys.hands import Wristwatch, found
from tests.journeys.test_counter_to_door import NAMED
from tests.people import PASSWORD, Cast
from tests.served import TABLET

pytestmark = [pytest.mark.browser, pytest.mark.timeout(600)]
PIN = "284057"


@pytest.fixture
def engine_name() -> str:
    """One engine: page by page the same way is gone on both."""
    return "sqlite"


@pytest.fixture
def hands(browser: Browser, address: str, app: Flask, cast: Cast) -> Iterator[dict[str, BrowserHand]]:
    """Mara, Ines and Tove, each with a device of their own."""
    made = {}
    for who in (cast.counter, cast.technician, cast.owner):
        context = browser.new_context(base_url=address, viewport=TABLET, has_touch=True, accept_downloads=True)
        context.set_default_timeout(30_000)
        made[who.name] = BrowserHand(context, who.name)
    yield made
    for hand in made.values():
        hand.context.close()


def by_password(hand: BrowserHand) -> None:
    hand.do("/people/sign-in", {"name": hand.name, "password": PASSWORD})
    assert hand.name in hand.words()


def by_pin(hand: BrowserHand, cast: Cast) -> None:
    """On the enrolled tablet a name and six digits are enough."""
    hand.do("/people/pin", {"who": str(cast.technician.id), "pin": PIN})
    assert "technician" in hand.words()


def enrol(owner: BrowserHand, bench: BrowserHand, cast: Cast) -> None:
    """The owner makes a code, the technician enters it on the tablet and signs in by PIN from then on."""
    code = owner.do("/people/enrol-code", on="/people").split("good for ten minutes: ")[1][:9]
    by_password(bench)
    bench.do("/people/me", {"now_password": PASSWORD, "new_pin": PIN})
    bench.do("/people/enrol", {"code": code, "name": "Bench 1"})
    bench.send(bench.page.get_by_role("button", name="Switch")) if bench.page.get_by_role("button", name="Switch").count() else None
    by_pin(bench, cast)


def test_three_people_take_an_amp_from_the_counter_to_the_door(
        hands: dict[str, BrowserHand], cast: Cast, watch: Wristwatch, tmp_path: Path) -> None:
    mara, ines, tove = hands["Mara"], hands["Ines"], hands["Tove"]
    for hand in (mara, tove):
        by_password(hand)
        hand.sign_in_again = lambda hand=hand: by_password(hand)
    enrol(tove, ines, cast)
    ines.sign_in_again = lambda: by_pin(ines, cast)
    shop = story.Shop(mara, ines, tove, watch, shots=story.photos())
    story.equip(shop)
    for stage in story.STAGES:
        stage(shop)
    for name, words in NAMED.items():
        assert [one for one in words if one not in shop.refusals[name]] == [], shop.refusals[name]

    mara.open(found(mara, shop.at("papers"), r"/papers/\d+$"))
    with mara.page.expect_download() as fetched:
        mara.page.get_by_role("link", name="Save the PDF").tap()
    report = Path(fetched.value.path()).read_bytes()
    assert report.startswith(b"%PDF-") and fetched.value.suggested_filename.endswith(".pdf")
    with pikepdf.open(io.BytesIO(report)) as paper:
        assert len(paper.pages) >= 1
    assert {name: hand.complaints for name, hand in hands.items() if hand.complaints} == {}
