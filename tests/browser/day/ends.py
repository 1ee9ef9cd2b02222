"""How else an order ends, two records of one, and a letter that goes out by a real mail server."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from app import clock
from tests.browser.day import counter
from tests.browser.day.hand import Hand
from tests.contact.mail import Post
from tests.journeys import story
from tests.journeys.story import Shop


def come_back(mara: Hand, ines: Hand, shop: Shop) -> str:
    """The same amp, the same person: nothing is chosen beforehand, nothing is charged until it is judged."""
    with mara.act("3 known amp comes back, seven photos, receipt"):
        mara.goto("/")
        mara.link("Check an amp in")
        mara.type("q", "adler")
        mara.link("Tarnholt Meridian 30 M30-0117")
        mara.type("complaint", "hums again after an hour")
        mara.tap(mara.page.get_by_role("radio", name="Yes, after repair 1001"))
        mara.button("Check in the amp")
        order = counter.order_of(mara)
        counter.as_it_came(mara)
        mara.draw()
        mara.button("Save the signature")
    assert "All intake requirements are met." in mara.read(f"{order}/intake")
    with ines.act("4 verdict on the come-back"):
        ines.goto(f"{order}/intake")
        ines.link("Come-back after repair", exact=False)
        ines.picture("4-come-back")
        ines.choose("verdict", "unrelated")
        ines.tick("compared")
        ines.type("reasoning", "HT as it left; a valve of the customer's own is microphonic")
        ines.choose("payer", "the customer")
        ines.button("Save the verdict")
    with mara.act("4 fee named and signed for, after the verdict"):
        mara.goto(f"{order}/intake/money")
        mara.type("fee_minor", "85,00")
        mara.type("ceiling_minor", "120")
        mara.button("Save fee and ceiling")
        mara.choose("signer_id", "Casper Holm")
        mara.draw()
        mara.button("Save the signature")
    return order


def unrepaired(mara: Hand, shop: Shop) -> None:
    with mara.act("9 returned unrepaired, with the fee"):
        story.unrepaired(shop)
    mara.goto(shop.at("money"))
    assert "Billed AUD 85.00" in mara.told(), mara.told()


def void(mara: Hand) -> None:
    """Somebody who is known and an amp that is known, both written down anew by mistake."""
    mara.goto("/check-in?customer=new&amp=new")
    for field, words in {"name": "W. Adler", "phone": "0491 570 110",
                         "maker": "Tarnholt", "model": "Meridian 30", "serial": "M30-0I17", "complaint": "hum"}.items():
        mara.type(field, words)
    mara.button("Check in the amp")
    order = counter.order_of(mara)
    with mara.act("10 void an order opened by mistake"):
        mara.goto(f"{order}/intake")
        mara.link("Void this order", exact=False)
        mara.type("reason", "the serial was misread: it is M30-0117")
        mara.go("main form:has([name=reason]) button[type=submit]")
    assert "is void" in mara.words()


def merge(mara: Hand, kind: str, kept: str, query: str) -> None:
    """Two records of one customer or one amp become one, with both histories."""
    with mara.act(f"10 merge two {kind}"):
        mara.goto(f"{kept}/merge")
        mara.type("q", query)
        with mara.page.expect_navigation():
            mara.page.locator("main [name=q]").press("Enter")
        mara.now.keys += 1
        mara.tap(mara.page.locator("main [name=double_id]").first)
        mara.type("reason", "same plate, read again")
        mara.picture(f"10-merge-{kind}")
        mara.button("Merge the records")


def uncollected(mara: Hand, shop: Shop) -> None:
    """The notice that this place asks for, and the day on which its time is over."""
    today = clock.now().date()
    with mara.act("8 notice to collect"):
        mara.goto(shop.at("return/uncollected"))
        mara.link("Record the notice")
        mara.type("worth_minor", "800")
        mara.type("worth_from", "two like it sold second hand")
        mara.type("given_on", f"{today + timedelta(days=3)}")
        mara.type("proof", "LD 417")
        mara.button("Save notice")
    assert "the notice period is not over" in mara.words(), mara.words()[:900]
    mara.picture("8-uncollected")


def overdue(mara: Hand) -> None:
    mara.goto("/due")
    assert "The notice period under New South Wales" in mara.words()
    mara.picture("8-due")


def letter(mara: Hand, tove: Hand, shop: Shop, post: Post, port: int, send: Callable[[], object]) -> None:
    """Sent only when the server took it; refused in the server's own words; kept while the server is away."""
    with tove.act("11 mail server, tested"):
        tove.goto("/mail")
        for field, words in {"host": "localhost", "port": f"{port}", "sender_address": "bench@lowgate.example"}.items():
            tove.type(field, words)
        tove.button("Save the mail server")
        tove.button("Test the mail server")
    tove.picture("11-mail")
    tove.button("Add the usual templates") if tove.page.get_by_role("button", name="Add the usual templates").count() else None
    post.to_recipient["gone@falk.example"] = "550 5.1.1 nobody of that name"
    with mara.act("11 write an e-mail with a paper"):
        mara.goto(shop.order)
        mara.link("Write an e-mail")
        mara.link("Ready to collect")
        mara.tick("papers")
        mara.button("Put the message in the outbox")
    send()
    assert post.arrived.wait(20), "nothing arrived"
    mara.goto(f"/contact/messages/new?customer=5&order={story.number_in(shop.order)}")
    mara.type("to", "gone@falk.example")
    mara.type("subject", "Ready")
    mara.type("body", "It is ready.")
    mara.button("Put the message in the outbox")
    send()
    mara.goto("/contact/outbox")
    assert "nobody of that name" in mara.words() and len(post.got) == 1, mara.words()[:900]
    mara.picture("11-outbox")
