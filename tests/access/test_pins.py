"""PINs and badges: how many tries are left, what a colleague's wrong ones can do, and that neither counts as the password.

NIST SP 800-63B-4 (from memory) allows at most 100 consecutive failures; five and fifty are the shop's own figures. That a PIN
has an alternative that asks nobody to remember anything is WCAG 2.2, 3.3.8.
"""

from __future__ import annotations

import re
from datetime import timedelta
from itertools import count

import pytest
from flask import Flask

from app.access import guessing, service, trying
from app.access.models import Badge, Device, Person, SignIn
from app.access.people_views import square
from app.access.secrets import new_badge
from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.kernel.tokens import DEVICE_COOKIE
from tests.conftest import NOW
from tests.pages import PageClient
from tests.people import BY, PASSWORD, Cast

PIN, WRONG = "740592", "998877"


def enrolled(cast: Cast, name: str) -> tuple[Device, str]:
    """Inside a transaction."""
    owner = session().get_one(Person, cast.owner.id)
    return service.enrol(service.make_enrol_code(owner, by=BY, now=NOW), name, agent="a tablet", now=NOW)


def at_the_tablet(app: Flask, cast: Cast, name: str = "Bench 1") -> PageClient:
    with app.app_context(), transaction():
        service.set_pin(session().get_one(Person, cast.technician.id), PIN, by=BY, now=NOW)
        _, secret = enrolled(cast, name)
    client = PageClient(app)
    client.client.set_cookie(DEVICE_COOKIE, secret)
    return client


def test_a_wrong_pin_says_how_many_tries_are_left(app: Flask, cast: Cast) -> None:
    tablet = at_the_tablet(app, cast)
    for left in ("4 more tries", "3 more tries", "2 more tries", "1 more try", "Wait 60 seconds"):
        assert left in tablet.post("/people/pin", {"who": str(cast.technician.id), "pin": WRONG}).words


def test_forgotten_leads_to_the_password(app: Flask, cast: Cast) -> None:
    page = at_the_tablet(app, cast).get("/people/pin?then=/orders")
    assert "PIN forgotten?" in page.words
    assert "/people/sign-in?password=1&then=/orders&held=" in page.links()


def test_wrong_pins_on_purpose_hold_up_one_device_for_minutes(context: Flask, cast: Cast) -> None:
    with transaction():
        ines = session().get_one(Person, cast.technician.id)
        service.set_pin(ines, PIN, by=BY, now=NOW)
        here, there = enrolled(cast, "Bench 1")[0], enrolled(cast, "Bench 2")[0]
        session().flush()
    for _ in range(guessing.PIN_TRIES):
        trying.pin(ines, WRONG, here, now=NOW)
    assert "Wait" in (trying.pin(ines, PIN, here, now=NOW + timedelta(seconds=59)) or "")
    assert trying.pin(ines, PIN, there, now=NOW) is None, "another device knows nothing of it"
    assert trying.pin(ines, PIN, here, now=NOW + timedelta(seconds=61)) is None, "and here it is over in a minute"
    assert trying.pin(ines, WRONG, here, now=NOW + timedelta(seconds=62)) is not None
    assert guessing.pin_tries_left(ines, service.place_of(here, "")) == guessing.PIN_TRIES - 1


def test_waits_for_a_pin_grow_and_fifty_in_a_row_ask_for_the_password(context: Flask, cast: Cast,
                                                                      monkeypatch: pytest.MonkeyPatch) -> None:
    since = count(0, 960)  # seconds: the place has its tries again each time
    monkeypatch.setattr(guessing, "seconds", lambda: next(since))
    waits = [guessing.wait_for_pin(n).total_seconds() / 60 for n in (0, 4, 5, 6, 7, 8, 9, 49)]
    assert waits == [0, 0, 1, 2, 4, 8, 15, 15]
    with transaction():
        ines = session().get_one(Person, cast.technician.id)
        service.set_pin(ines, PIN, by=BY, now=NOW)
        here, now, tries = enrolled(cast, "Bench 1")[0], NOW, 0
        session().flush()
    while "password once" not in (said := trying.pin(ines, WRONG, here, now=now) or ""):
        tries, now = tries + ("not the PIN" in said), now + timedelta(minutes=16)
        assert tries <= guessing.MANY_TRIES
    assert tries == guessing.MANY_TRIES - 1  # the fiftieth says it itself
    assert "password once" in (trying.pin(ines, PIN, here, now=now + timedelta(days=30)) or "")
    assert trying.password(ines, PASSWORD, here, now=now) is None
    assert trying.pin(ines, PIN, here, now=now) is None


def test_two_devices_have_two_names(context: Flask, cast: Cast) -> None:
    with transaction():
        first, _ = enrolled(cast, "Bench 1")
        for name in ("Bench 1", " bench  1 "):
            with pytest.raises(BadInput, match="called .*ench 1 already") as wrong:
                enrolled(cast, name)
            assert wrong.value.field == "name"
        service.revoke(first, by=BY, now=NOW)
        enrolled(cast, "Bench 1")


def test_one_sees_and_ends_ones_own_sign_ins(app: Flask, technician: PageClient, counter: PageClient, cast: Cast) -> None:
    elsewhere = PageClient(app).sign_in(cast.technician)
    page = technician.get("/people/me")
    assert "Where you are signed in" in page.words and "Last seen" in page.words
    ends = [form.get("action", "") for form in page.all("form") if form.get("action", "").endswith("/end")]
    assert len(ends) == 1, "the other one; this one ends with Switch"
    counter.send(ends[0], counter.token(), status=404)
    assert elsewhere.get("/").title.startswith("On the bench") or "On the bench" in elsewhere.get("/").words
    technician.send(ends[0], page.fields(ends[0]))
    assert elsewhere.get("/").title.startswith("Sign in")
    assert "On the bench" in technician.get("/").words


def test_a_browser_has_one_sign_in(app: Flask, stranger: PageClient, cast: Cast) -> None:
    stranger.post("/people/sign-in", {"name": "Ines", "password": PASSWORD})
    former = stranger.client.get_cookie("tagstrip_sign_in")
    assert former is not None
    stranger.post("/people/sign-in?password=1", {"name": "Mara", "password": PASSWORD}, action="/people/sign-in")
    other = PageClient(app)
    other.client.set_cookie("tagstrip_sign_in", former.value)
    assert other.get("/").title.startswith("Sign in"), "the former sign-in of this browser has ended"
    with app.app_context():
        assert session().query(SignIn).filter_by(ended_at=None).count() == 1


def test_a_badge_signs_in_on_an_enrolled_device_and_proves_no_password(app: Flask, owner: PageClient, cast: Cast) -> None:
    path = f"/people/{cast.owner.id}/badge"
    page = owner.post(path, form_on=f"/people/{cast.owner.id}", action=path)
    assert "shows it once" in page.words and 'class="qr"' in page.text
    with app.app_context(), transaction():
        secret = service.make_badge(session().get_one(Person, cast.owner.id), by=BY, now=NOW)
    tablet = at_the_tablet(app, cast)
    typed = f" {secret[:16].lower()} {secret[16:].lower()}\r"
    assert "On the bench" in tablet.post("/people/badge", {"badge": typed}, form_on="/people/pin").words
    assert "Enter your password" in tablet.get("/people", status=403).title
    no_device = PageClient(app)
    no_device.send("/people/badge", {**no_device.get("/people/sign-in").fields(), "badge": secret})
    assert no_device.get("/").title.startswith("Sign in"), "nowhere but on an enrolled device"


def test_a_badge_withdrawn_replaced_or_of_somebody_gone_opens_nothing(context: Flask, cast: Cast) -> None:
    with transaction():
        ines, (tablet, _) = session().get_one(Person, cast.technician.id), enrolled(cast, "Bench 1")
        first = service.make_badge(ines, by=BY, now=NOW)
        second = service.make_badge(ines, by=BY, now=NOW)
        assert service.whose_badge(first, tablet) is None and service.whose_badge(second, tablet) is ines
        assert service.whose_badge(second, None) is None and service.whose_badge("", tablet) is None
        opened, _ = service.open_sign_in(ines, tablet, agent="a tablet", by_password=False, now=NOW)
        service.withdraw_badge(ines, by=BY, now=NOW)
        assert service.whose_badge(second, tablet) is None and opened.ended_at == NOW
        with pytest.raises(RuleBroken, match="no badge"):
            service.withdraw_badge(ines, by=BY, now=NOW)
        third = service.make_badge(ines, by=BY, now=NOW)
        service.change_person(ines, role=ines.role, active=False, by=BY, now=NOW)
        assert service.whose_badge(third, tablet) is None
        with pytest.raises(RuleBroken, match="may not sign in"):
            service.make_badge(ines, by=BY, now=NOW)
        assert not any(secret in str(vars(one)) for one in session().query(Badge) for secret in (first, second, third))


def test_a_badge_holds_128_bits_that_every_keyboard_types_alike() -> None:
    """Sixteen letters, 4 bits each; A, Q, W, Z, Y and M lie elsewhere on French and German keyboards (from memory)."""
    made = {new_badge() for _ in range(200)}
    assert len(made) == 200 and all(re.fullmatch("[BCDEFGHJKLNPRSTV]{32}", one) for one in made)
    assert {sign for one in made for sign in one} == set("BCDEFGHJKLNPRSTV")
    drawn = square(new_badge())
    assert 'class="qr"' in drawn and "style=" not in drawn and not re.search("[BCDEFGHJKLNPRSTV]{32}", drawn)


def test_a_badge_that_was_not_read_says_so_beside_its_field(app: Flask, cast: Cast) -> None:
    page = at_the_tablet(app, cast).post("/people/badge", {"badge": "BCDF"}, form_on="/people/pin")
    assert page.title.startswith("Error: ") and "opens nothing here" in page.words and "#badge" in page.links()
