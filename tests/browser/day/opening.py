"""The first day's first hour: a new shop is opened and set up by its pages alone, to the end of the list."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

from app import clock
from app.access import first_start
from tests.browser.day.hand import Hand
from tests.journeys.story import TOOLS
from tests.people import PASSWORD

PIN = "284057"


def open_shop(tove: Hand, data: Path) -> None:
    """From the code of the console to the settings, saved."""
    with tove.act("1 open the shop"):
        tove.goto("/")
        tove.type("code", first_start.console_code(data))
        tove.type("shop_name", "Lowgate Valve Repairs")
        tove.type("name", "Tove")
        tove.type("password", PASSWORD)
        tove.button("Open the shop")
    with tove.act("1 settings: name, place, money"):
        for field, words in {"address": "3 Lowgate, Harrowmere", "phone": "0491 570 006", "email": "bench@lowgate.example"}.items():
            tove.type(field, words)
        tove.choose("country", "Australia")
        tove.choose("jurisdiction", "New South Wales")
        tove.choose("time_zone", "Australia: Sydney")
        tove.type("tax_percent", "10")
        tove.type("hourly_rate_minor", "95")
        tove.type("diagnosis_fee_minor", "85")
        tove.type("decline_fee_minor", "45")
        tove.button("Save the settings")
    for again in ("Save the new time zone", "Save these amounts", "Save"):
        if tove.page.get_by_role("button", name=again).count() and "Confirm" in tove.words():
            with tove.act("1 settings: asked back"):
                tove.button(again, exact=False)


def prove(hand: Hand) -> None:
    """The password once more, where a page of the owner asks for it."""
    if hand.page.locator("[name='own_password']").count():
        hand.type("own_password", PASSWORD)
        hand.button("Confirm password")


def hire(tove: Hand, name: str, role: str) -> str:
    """Somebody is added, and the code made with which they choose a password."""
    with tove.act("1 add a person"):
        tove.goto("/people")
        prove(tove)
        tove.type("name", name)
        tove.choose("role", role)
        tove.button("Add this person")
        prove(tove)
        words = tove.button("Make a password code")
    return re.search(r"[A-Z0-9]{4}(?: ?-? ?[A-Z0-9]{4})+", words.split("code", 1)[1]).group()  # type: ignore[union-attr]


def choose_password(hand: Hand, code: str) -> None:
    with hand.act("1 choose a password"):
        hand.goto("/people/set-password")
        hand.type("name", hand.name)
        hand.type("password_code", code)
        hand.type("new_password", PASSWORD)
        hand.go("main form button[type=submit]")


def sign_in(hand: Hand) -> None:
    with hand.act("sign in by password"):
        hand.goto("/people/sign-in")
        hand.type("name", hand.name)
        hand.type("password", PASSWORD)
        hand.go("main form button[type=submit]")


def enrol(tove: Hand, mara: Hand) -> None:
    """The counter's tablet knows its people by PIN."""
    with tove.act("1 code for a tablet"):
        tove.goto("/people")
        prove(tove)
        words = tove.button("Make a code for a tablet")
        prove(tove)
        code = words.split("good for ten minutes: ")[1][:9]
    with mara.act("1 enrol the tablet"):
        mara.goto("/people/enrol")
        mara.type("code", code)
        mara.type("name", "Counter")
        mara.button("Enrol the device")
    with mara.act("1 choose a PIN"):
        mara.goto("/people/me")
        mara.type("now_password", PASSWORD)
        mara.type("new_pin", PIN)
        mara.button("Save the new PIN or password")


def instruments(tove: Hand) -> None:
    today = clock.now().date()
    for name, kind, stated in TOOLS:
        with tove.act("1 add an instrument"):
            tove.goto("/instruments")
            tove.link("Add an instrument")
            tove.type("name", name)
            tove.choose("kind", kind)
            for field, words in {"serial": "40217", "category": "CAT III 600 V", "calibrated_on": f"{today - timedelta(days=90)}",
                                 "due_on": f"{today + timedelta(days=900)}", "certificate": "K-881"}.items():
                tove.type(field, words)
            tove.go("main form button[type=submit]")
        for quantity, up_to, percent, counts, one in stated:
            with tove.act("1 state an accuracy"):
                tove.go("main a[href$='/accuracy']")
                tove.choose("quantity", quantity)
                for field, words in {"up_to": up_to, "percent": percent, "counts": counts, "resolution": one}.items():
                    tove.type(field, words)
                tove.go("main form button[type=submit]")


def limits(tove: Hand) -> None:
    """The owner has the edition beside the tablet: it is named, then used."""
    with tove.act("1 limits in force"):
        tove.goto("/safety-profiles")
        prove(tove)
        tove.link("AS/NZS 5762", exact=False)
        tove.link("Confirm with edition and date")
        prove(tove)
        tove.type("edition_date", "2011-08-01")
        tove.button("Confirm these limits")
        tove.button("Use this profile")


def sign_in_again(hand: Hand) -> None:
    """By PIN on an enrolled tablet, else by password; nothing where the sign-in still holds."""
    hand.goto("/people/sign-in")
    if hand.page.locator("[name=pin]").count():
        with hand.act("sign in by PIN"):
            hand.tap(hand.page.get_by_label(hand.name, exact=True))
            hand.type("pin", PIN)
            hand.go("main form button[type=submit]")
    elif hand.page.locator("[name=password]").count():
        sign_in(hand)
