"""The counter's acts: an amp comes in with three people, a known one, one that comes back; calls, and who agreed to what."""

from __future__ import annotations

from tests.browser.day.hand import Hand

VIEWS = ("front", "top", "left", "right", "rear", "panel", "serial")


def order_of(hand: Hand) -> str:
    """The path of the order whose page is open."""
    return "/orders/" + hand.page.url.split("/orders/")[1].split("/")[0]


def as_it_came(hand: Hand) -> None:
    """Seven photos, what came with it, the danger check."""
    for view in VIEWS:
        hand.shoot(view)
    hand.button("Save and next")
    hand.tap(hand.page.get_by_role("button", name="One more: Footswitch"))
    hand.button("Save the count")
    hand.tap(hand.page.get_by_role("checkbox", name="none of these"))
    hand.button("Save the danger check")


def check_in_three(mara: Hand) -> str:
    """Somebody new leaves it, another owns it, a third may approve; wrong at first, and nothing typed is lost."""
    with mara.act("2 check in, three new people, seven photos, receipt"):
        mara.goto("/")
        mara.link("Check an amp in")
        mara.type("q", "adler")
        mara.link("Add a new customer")
        for field, words in {"name": "Wren Adler", "phone": "12", "email": "wren@adler"}.items():
            mara.type(field, words)
        mara.fold("Someone else owns it")
        for who, name, phone in (("owner", "Ottilie Brandt", "0491 570 157"), ("approver", "Casper Holm", "0491 570 158")):
            mara.choose(f"{who}_is", "someone else")
            mara.type(f"{who}_name", name)
            mara.type(f"{who}_phone", phone)
        for field, words in {"maker": "Tarnholt", "model": "Meridian 30", "serial": "M30-0117",
                             "complaint": "hums from the first minute, then goes quiet"}.items():
            mara.type(field, words)
        mara.button("Check in the amp")
        refused = mara.refusal()
        assert "“12” is not a phone number" in refused and "“wren@adler” is not an e-mail" in refused, refused
        assert mara.page.locator("[name=approver_name]").input_value() == "Casper Holm"
        mara.type("phone", "0491 570 156")
        mara.type("email", "wren@adler.example")
        mara.button("Check in the amp")
        order = order_of(mara)
        mara.type("mains_marking", "240 V 50 Hz 120 W")
        mara.choose("protection_class", "I")
        mara.button("Save the amp")
        as_it_came(mara)
        mara.picture("2-what-the-customer-reads")
        mara.draw()
        mara.button("Save the signature")
        assert "Print the receipt" in mara.words()
        mara.picture("2-receipt")
    return order


def contact(hand: Hand, order: str, whom: str, how: str, said: str = "", next_on: str = "") -> None:
    """One line of the log."""
    hand.goto(order)
    hand.link(f"Record a contact with {whom}" if whom else "Record a contact")
    hand.choose("how", how)
    if said:
        hand.type("said", said)
    if next_on:
        hand.type("next_on", next_on)
    hand.button("Save the contact")


def agree_by_phone(mara: Hand, order: str, today: str) -> None:
    """Nobody answers, a voicemail is left, then he rings back: each in the log, the next try on the list of what is due."""
    with mara.act("5 record a call, no answer, next try"):
        contact(mara, order, "Casper Holm", "called, no answer", next_on=today)
    mara.goto("/due")
    assert "Try Casper Holm again" in mara.words()
    mara.picture("5-due")
    with mara.act("5 record a voicemail, from what is due"):
        mara.link("Record the contact")
        mara.choose("how", "left a voicemail")
        mara.type("said", "asked him to ring back")
        mara.button("Save the contact")
    with mara.act("5 cost limit agreed by phone"):
        mara.goto(order)
        mara.link("Record the agreement")
        mara.link("Casper Holm agreed without", exact=False)
        mara.choose("channel", "phone")
        mara.button("Casper Holm agreed")
    assert "agreed by Casper Holm, phone" in mara.words()


def check_in_new(mara: Hand) -> str:
    """Somebody new with an amp of their own; the same once more by somebody who knows the pages."""
    with mara.act("2 check in, one new person, seven photos, receipt"):
        mara.goto("/")
        mara.link("Check an amp in")
        mara.type("q", "falk")
        mara.link("Add a new customer")
        for field, words in {"name": "Imre Falk", "phone": "0491 570 159", "email": "imre@falk.example", "maker": "Tarnholt",
                             "model": "Meridian 30", "serial": "M30-0288", "complaint": "crackles"}.items():
            mara.type(field, words)
        mara.button("Check in the amp")
        order = order_of(mara)
        mara.type("mains_marking", "240 V 50 Hz 120 W")
        mara.choose("protection_class", "I")
        mara.button("Save the amp")
        as_it_came(mara)
        mara.draw()
        mara.button("Save the signature")
    return order
