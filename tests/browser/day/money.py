"""The quote's answer, and money from the deposit to the last coin."""

from __future__ import annotations

from tests.browser.day.hand import Hand
from tests.journeys import story
from tests.journeys.story import Shop


def draw_up(shop: Shop) -> None:
    """Two lines of safety and one that may wait, issued as one quote: the technician's part."""
    ines, at = shop.bench, shop.at
    bridged = story.number_in(story.found_by_words(ines, at("findings"), r"/findings/\d+$", "bridged"))
    ines.do(at("findings/new"), {
        "observation": "mains lead home-made, earth core cut short", "area": "mains", "origin": "earlier work", "severity": "3",
        "probability": "d", "hazard": "metal parts could become live", "disposition": "replace_like",
        "check_words": "opened the plug and looked", "confidence": "proven", "photos": shop.shots[1]})
    lead = story.number_in(story.found_by_words(ines, at("findings"), r"/findings/\d+$", "home-made"))
    for finding, what, hours, parts, cost in (
            (bridged, "New fuse carrier and the marked fuse", "0:45", "carrier, T 1.6 A fuse", "18,50"),
            (lead, "New mains lead with its earth", "0:30", "mains lead", "9.50")):
        ines.do(at("quote/lines/new"), {
            "finding": str(finding), "what": what, "group": "required for safety", "hours_likely": hours, "parts": parts,
            "parts_minor": cost, "condition": "new", "warranty_days": "90"})
    ines.do(at("quote/lines/new"), {"what": "Clean and lubricate the controls", "group": "optional", "hours_likely": "0:30",
                                    "warranty_days": "90"})
    ines.do(at("quote/issue"), {"days_to_complete": "14", "could_change": "More may show once it runs under load."})


def answer(mara: Hand, shop: Shop) -> None:
    """One line of safety agreed, one declined and acknowledged; the limit is asked back; then it is raised alone."""
    at = shop.at
    with mara.act("6 issue the quote as a paper"):
        mara.goto(at("papers/estimate"))
        mara.go("main form button[type=submit]")
    with mara.act("6 partial consent by phone, limit asked back"):
        mara.goto(shop.order)
        mara.link("Record the answer")
        names = sorted(dict.fromkeys(mara.page.locator("main [name^=line_]").evaluate_all("all => all.map((one) => one.name)")),
                       key=story.number_in)
        for name, said in zip(names, ("agreed", "declined", "declined"), strict=True):
            mara.choose(name, said)
        mara.choose("channel", "phone")
        mara.button("Save the answer")
        assert "what is agreed comes to AUD" in mara.refusal(), mara.words()[:900]
        mara.picture("6-answer")
        mara.button("Save the answer")
    with mara.act("6 the declined safety work is acknowledged"):
        mara.type("made_safe", "lead removed")
        mara.choose("how", "signed on the screen")
        mara.draw()
        mara.button("Save the acknowledgement")
    with mara.act("6 raise the cost limit"):
        mara.link("Raise the cost limit")
        mara.type("ceiling_minor", "150")
        mara.type("what_for", "a new inlet, if the old one cracks")
        mara.choose("channel", "phone")
        mara.button("Record the new limit")


def entry(mara: Hand, shop: Shop, link: str, amount: str, method: str, note: str = "") -> str:
    """A deposit, a payment or a refund from the page of the money."""
    mara.goto(shop.at("money"))
    mara.link(link)
    mara.type("amount_minor", amount)
    mara.choose("method", method)
    if note:
        mara.type("note", note)
    return mara.go("main form:has([name=amount_minor]) button[type=submit]")


def deposit(mara: Hand, shop: Shop) -> None:
    with mara.act("7 deposit"):
        words = entry(mara, shop, "Record a deposit", "50", "cash")
    assert "is held as a deposit. It counts towards the bill." in words


def hand_out(mara: Hand, shop: Shop) -> None:
    """Everything off the list, a part of the money at the door, and the amp goes."""
    at = shop.at
    with mara.act("7 return: accessories, old parts, bill and part payment, shown, signed, report, out"):
        mara.goto(at("return"))
        mara.link("Return the accessories")
        mara.tap(mara.page.get_by_role("button", name="One more").first)
        mara.button("Confirm accessories returned")
        mara.choose("fate", "given back")
        mara.type("which", "bridged carrier, in a bag")
        mara.button("Save old parts")
        mara.type("paid_minor", "30")
        mara.choose("method", "card")
        mara.type("on_account", "the rest on Friday")
        mara.button("Save payment")
        mara.choose("shown", "yes")
        mara.go("main form:has([name=shown]) button[type=submit]")
        assert "Declined, and not done: New mains lead with its earth" in mara.words()
        mara.picture("7-what-is-signed")
        mara.draw()
        mara.button("Save the signature")
        mara.link("Issue the paper")
        mara.go("main form button[type=submit]")
        mara.goto(at("return"))
        mara.button("Record the return")
    assert "Returned repaired" in mara.words()


def afterwards(mara: Hand, tove: Hand, shop: Shop) -> None:
    """The rest is paid later, a bill is corrected by a credit note, that is refunded; the lists agree with each other."""
    with mara.act("7 later payment"):
        entry(mara, shop, "Record a payment", "18,73", "bank transfer")
    with mara.act("7 credit note"):
        mara.goto(shop.at("money"))
        mara.link("Issue a credit note", exact=False)
        mara.type("credit_minor", "10")
        mara.type("reason", "the bag was charged twice")
        mara.button("Issue the credit note")
    with mara.act("7 refund"):
        words = entry(mara, shop, "Record a refund", "10", "cash", "as credited")
    assert "Nothing is owed." in words
    mara.picture("7-money")
    with mara.act("7 statement"):
        mara.link("Statement of Casper Holm")
    assert "Together AUD 88.73 AUD 88.73 AUD 0.00" in mara.told(), mara.told()
    mara.picture("7-statement")
    with tove.act("7 accounts of the month, as a file"):
        tove.goto("/money")
        tove.link("Accounts of a period", exact=False)
        csv = tove.page.request.get(str(tove.page.get_by_role("link", name="Download as a CSV").get_attribute("href"))).text()
        tove.now.taps += 1
    total = next(line for line in csv.splitlines() if "total of this period" in line).split(",")
    assert (total[8], total[9]) == ("88.73", "88.73"), total
