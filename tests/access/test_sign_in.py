from __future__ import annotations

import re
from datetime import timedelta
from functools import partial

import pytest
from flask import Flask

from app import clock
from app.access import guessing, service, trying
from app.access.models import Device, Person, SignIn
from app.access.rules import Role
from app.db import session, transaction
from app.errors import RuleBroken
from tests import factories
from tests.conftest import NOW
from tests.pages import PageClient
from tests.people import BY, PASSWORD, Cast


def test_first_start_makes_the_owner_once(empty_app: Flask) -> None:
    client = PageClient(empty_app)
    assert "Open the shop" in client.get("/").words
    code = (empty_app.config["DATA"] / "first-start.code").read_text() if (
        empty_app.config["DATA"] / "first-start.code").exists() else "x"
    entries = {"code": "00000000x", "shop_name": "Lowgate Valve Repairs", "name": "Tove", "password": PASSWORD}
    assert "not the code" in client.post("/people/first-start", entries).words
    code = (empty_app.config["DATA"] / "first-start.code").read_text()
    assert "Look through its settings" in client.post("/people/first-start", {**entries, "code": code}).words
    client.get("/people/first-start", status=404)


def test_password_opens_and_switch_ends(app: Flask, stranger: PageClient) -> None:
    page = stranger.post("/people/sign-in", {"name": "mara ", "password": PASSWORD, "then": "/"})
    assert "On the bench" in page.words and "Mara" in page.words
    old = stranger.client.get_cookie("tagstrip_sign_in")
    assert old is not None
    stranger.send("/people/switch", stranger.get("/").fields("/people/switch"))
    stranger.client.set_cookie("tagstrip_sign_in", old.value)
    assert stranger.get("/").title.startswith("Sign in")


def test_wrong_password_says_so_beside_the_field(stranger: PageClient) -> None:
    page = stranger.post("/people/sign-in", {"name": "Mara", "password": "not the right one"})
    assert page.title.startswith("Error: ") and "Wrong name or password" in page.words


def test_guessing_elsewhere_slows_nobody_here_and_no_wait_becomes_a_lock(context: Flask, cast: Cast) -> None:
    """Two of the shop's own rules for sign-in: a growing delay by person and place; a legitimate user elsewhere gets in."""
    with transaction():
        tove, late = session().get(Person, cast.owner.id), NOW + timedelta(days=1)
        assert tove
        for _ in range(guessing.MANY_TRIES * 4):
            guessing.failed(guessing.Who(tove.id, "tove"), "address 192.168.1.66", "password", late)
    there = partial(trying.password, tove, PASSWORD, None, address="address 192.168.1.66")
    assert "Wait 15 minutes" in (there(now=late + timedelta(seconds=1)) or "")
    assert trying.password(tove, PASSWORD, None, now=late + timedelta(seconds=1), address="address 192.168.1.7") is None
    assert there(now=late + timedelta(minutes=15, seconds=1)) is None  # the right password, once the wait is over
    assert there(now=late) is None  # and it ended the row


def test_waits_grow_to_a_quarter_of_an_hour() -> None:
    waits = [guessing.wait_for(n).total_seconds() for n in (0, 4, 5, 6, 7, 11, 49, 50, 51, 52, 53, 10**6)]
    assert waits == [0, 0, 1, 2, 4, 60, 60, 120, 240, 480, 900, 900]


def test_a_right_pin_ends_the_row_of_wrong_ones(context: Flask, cast: Cast) -> None:
    with transaction() as current:
        ines, tablet = current.get(Person, cast.technician.id), Device(name="Bench 1", secret_hash="s", enrolled_at=NOW,
                                                                      enrolled_by_id=cast.owner.id)
        assert ines
        current.add(tablet)
        current.flush()
        service.set_pin(ines, "740592", by=BY, now=NOW)
    for pin in ["998877"] * (guessing.PIN_TRIES - 1) + ["740592"] + ["998877"] * (guessing.PIN_TRIES - 1):
        trying.pin(ines, pin, tablet, now=NOW)
    assert trying.pin(ines, "740592", tablet, now=NOW) is None


def test_wrong_passwords_on_ones_own_page_count_too(technician: PageClient) -> None:
    for _ in range(guessing.FREE_TRIES):
        page = technician.post("/people/me", {"now_password": "not the right one", "new_pin": "740592"})
        assert "not your present password" in page.words
    assert "Too many tries" in technician.post("/people/me", {"now_password": PASSWORD, "new_pin": "740592"}).words


def test_pin_needs_an_enrolled_device_and_stops_after_five(app: Flask, owner: PageClient, stranger: PageClient,
                                                           cast: Cast) -> None:
    with app.app_context(), transaction():
        ines = session().get(Person, cast.technician.id)
        assert ines
        service.set_pin(ines, "740592", by=BY, now=NOW)
    assert "Name" in stranger.get("/people/pin").words  # not enrolled: the password page
    said = owner.post("/people/enrol-code", form_on="/people").words
    code = re.search(r"minutes: (\w{4} \w{4})", said)
    assert code
    entries = {"code": code.group(1), "name": "Bench 1"}
    assert "Bench 1" in stranger.post("/people/enrol", entries).words
    assert "wrong or has expired" in PageClient(app).post("/people/enrol", entries).words  # a code opens one device
    for _ in range(guessing.PIN_TRIES):
        assert "not the PIN" in stranger.post("/people/pin", {"who": str(cast.technician.id), "pin": "998877"}).words
    assert "Wait" in stranger.post("/people/pin", {"who": str(cast.technician.id), "pin": "740592"}).words
    stranger.post("/people/sign-in?password=1", {"name": "Ines", "password": PASSWORD}, action="/people/sign-in")
    stranger.send("/people/switch", stranger.get("/").fields("/people/switch"))
    page = stranger.post("/people/pin", {"who": str(cast.technician.id), "pin": "740592"})
    assert "On the bench" in page.words
    owner.post("/people/devices/1/revoke", form_on="/people", action="/people/devices/1/revoke")
    assert stranger.get("/").title.startswith("Sign in")


def test_idle_sign_in_asks_again_and_keeps_the_form(app: Flask, technician: PageClient, cast: Cast,
                                                    monkeypatch: pytest.MonkeyPatch) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        order.stage = order.stage.__class__("teardown")
        number = order.id
    fields = {**technician.get(f"/orders/{number}/back").fields(), "reason": "Forgot the footswitch"}
    later = clock.now() + timedelta(minutes=11)
    monkeypatch.setattr(clock, "now", lambda: later)
    page = technician.send(f"/orders/{number}/back", fields)
    assert "What you sent is kept" in page.words
    mara = PageClient(app)
    held = page.fields()["held"]
    mara.post(f"/people/sign-in?held={held}", {"name": "Mara", "password": PASSWORD}, action="/people/sign-in", status=403)
    page = technician.send("/people/sign-in", {**page.fields(), "name": "Ines", "password": PASSWORD})
    assert "Forgot the footswitch" in page.words and "Not saved yet" in page.title
    page = technician.send(f"/orders/{number}/back", page.fields(f"/orders/{number}/back"))
    assert "Tarnholt Meridian 30" in page.title
    assert "Forgot the footswitch" in technician.get(f"/orders/{number}/history").words


def test_last_owner_stays(context: Flask, cast: Cast) -> None:
    with transaction():
        tove = session().get(Person, cast.owner.id)
        assert tove
        with pytest.raises(RuleBroken, match="only owner"):
            service.change_person(tove, role=Role.TECHNICIAN, active=True, by=BY, now=NOW)


def test_no_longer_active_ends_every_sign_in(app: Flask, counter: PageClient, owner: PageClient, cast: Cast) -> None:
    fields = owner.get(f"/people/{cast.counter.id}").fields()
    fields.pop("active")
    owner.send(f"/people/{cast.counter.id}", fields)
    assert counter.get("/").title.startswith("Sign in")
    with app.app_context():
        assert session().query(SignIn).filter_by(person_id=cast.counter.id, ended_at=None).count() == 0


@pytest.mark.parametrize("tls", [True, False])
def test_switch_has_the_browser_forget_what_it_stored(app: Flask, technician: PageClient, tls: bool) -> None:
    """W3C Clear Site Data: "cache" and no more; the device stays enrolled, and sealed drafts stay for their person."""
    fields = technician.get("/").fields("/people/switch")
    app.config["SECURE_COOKIES"] = tls
    cookie = technician.client.get_cookie("tagstrip_sign_in")
    assert cookie is not None
    technician.client.set_cookie("__Host-tagstrip_sign_in", cookie.value)  # as it is called over TLS
    answer = technician.client.post("/people/switch", data=fields)
    assert answer.headers.get("Clear-Site-Data") == ('"cache"' if tls else None)
