"""An amp goes from the counter to the door, by forms only, with every stage tried once before it was finished."""

from __future__ import annotations

import io
import re

import pikepdf
import pytest
from flask import Flask

from app import clock
from tests.journeys import story
from tests.journeys.hands import PageHand, Wristwatch, found
from tests.pages import PageClient
from tests.people import Cast


@pytest.fixture
def watch(monkeypatch: pytest.MonkeyPatch) -> Wristwatch:
    made = Wristwatch()
    monkeypatch.setattr(clock, "now", made.now)
    return made


@pytest.fixture
def shop(app: Flask, cast: Cast, watch: Wristwatch) -> story.Shop:
    """Mara, Ines and Tove, each at a browser."""
    hands = (PageHand(PageClient(app).sign_in(who), who) for who in (cast.counter, cast.technician, cast.owner))
    return story.Shop(*hands, watch, shots=story.photos())


# What each refusal must name, in words: the rows of the design's table of gates.
NAMED = {
    "intake": ("Photograph the amp as it came in and its serial plate", "Count the accessories.", "Look for obvious danger.",
               "Have the terms signed.", "mains marking"),
    "teardown": ("measure every capacitor, and record that",),
    "quote": ("put it on the quote",),
    "parts": ("Add the parts for: New fuse carrier",),
    "reassembly": ("volume P1", "record the work done, or have it declined in writing"),
    "safety test": ("read them as left", "record what its check showed", "The soak run comes after earth and insulation",
                    "Do the safety test."),
    "return": ("Give back 1 × footswitch and check it off.", "Record payment, or why it is unpaid.",
    "Issue the repair report.", "signature"),
}


def pdf_pages(shop: story.Shop, path: str) -> int:
    """Pages of the newest issued paper that this page links to."""
    hand = shop.counter
    assert isinstance(hand, PageHand)
    answer = hand.client.client.get(found(hand, path, r"/papers/\d+/file$"))
    assert answer.mimetype == "application/pdf" and answer.data.startswith(b"%PDF-")
    with pikepdf.open(io.BytesIO(answer.data)) as paper:
        return len(paper.pages)


def test_from_the_counter_to_the_door(shop: story.Shop) -> None:
    story.equip(shop)
    for stage in story.STAGES:
        stage(shop)
    for stage_name, words in NAMED.items():
        assert [one for one in words if one not in shop.refusals[stage_name]] == [], shop.refusals[stage_name]
    assert pdf_pages(shop, shop.at("papers")) >= 1
    assert "Comes back after repair 1001" in shop.counter.read(story.come_back(shop))
    history = shop.owner.read(shop.at("history"))
    assert all(name in history for name in ("Mara", "Ines")) and "order ended" in history


def test_it_goes_home_unrepaired_only_with_a_label_and_a_warning_acknowledged(shop: story.Shop) -> None:
    story.check_in(shop)
    story.intake(shop)
    story.unrepaired(shop)
    assert "still" not in shop.refusals["unrepaired"] and re.search("label|why it leaves", shop.refusals["unrepaired"])
    assert "Returned unrepaired" in shop.counter.read(shop.order)
    assert pdf_pages(shop, shop.at("papers")) >= 1
    assert shop.counter.refused(shop.at("on"), on=shop.order).count("has ended") >= 1
