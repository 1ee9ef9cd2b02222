"""Passkeys: what opens and what does not, by a device made by hand after W3C Web Authentication, Level 2
(`tests/authenticator.py`).
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app.access import challenges, guessing, passkeys, service
from app.access.challenges import For
from app.access.models import Passkey, Person
from app.access.site import Site
from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.journal.models import JournalEntry
from tests.authenticator import Authenticator, plain
from tests.conftest import NOW
from tests.pages import Page, PageClient
from tests.people import BY, Cast, Somebody

HERE = Site("localhost", "http://localhost")


def added(who: Somebody, device: Authenticator, name: str = "my phone") -> Passkey:
    """Inside a transaction."""
    person = session().get_one(Person, who.id)
    options = passkeys.options_to_add(person, HERE, page="own page", now=NOW)
    found = passkeys.add_passkey(person, name, device.make(options), challenges.take(For.ADDING, "own page", NOW), HERE, by=BY,
                                 now=NOW)
    session().flush()
    return found


def asked(page: str = "door") -> str:
    return passkeys.options_to_sign_in(HERE, page=page, now=NOW)


def tried(credential: str, *, after: timedelta = timedelta(0), page: str = "door") -> str:
    """The name that it opens for, or what is said."""
    found = passkeys.weigh(credential, challenges.take(For.SIGNING_IN, page, NOW + after), HERE)
    opened = found if isinstance(found, str) else passkeys.use_passkey(found, place="here", now=NOW + after)
    return opened if isinstance(opened, str) else opened.name


def test_a_key_that_was_added_opens_for_its_person_and_counts(context: Flask, cast: Cast) -> None:
    device = Authenticator()
    with transaction():
        key = added(cast.technician, device)
        assert tried(device.sign(asked())) == "Ines"
        assert (key.counter, key.used_at) == (1, NOW)
        assert plain(key.user_handle) != b"Ines" and len(plain(key.user_handle)) == 32, "the device is told nobody's number"


def test_a_device_that_does_not_count_opens_each_time(context: Flask, cast: Cast) -> None:
    device = Authenticator(step=0)
    with transaction():
        added(cast.technician, device)
        assert [tried(device.sign(asked())) for _ in range(3)] == ["Ines"] * 3


@pytest.mark.parametrize("wrong", [
    pytest.param({"origin": "http://localhost:81"}, id="another origin"),
    pytest.param({"origin": "https://shop.example"}, id="another site"),
    pytest.param({"rp_id": "shop.example"}, id="another host"), pytest.param({"verifies": False}, id="nobody was verified"),
    pytest.param({"key": Authenticator().key}, id="another key under this name"),
])
def test_what_is_signed_elsewhere_or_otherwise_opens_nothing(context: Flask, cast: Cast, wrong: dict[str, object]) -> None:
    device = Authenticator()
    with transaction():
        added(cast.technician, device)
        assert tried(replace(device, **wrong).sign(asked())) == passkeys.OPENS_NOTHING  # type: ignore[arg-type]
        assert tried(device.sign(asked())) == "Ines", "the key itself still does"


def test_another_persons_handle_or_none_opens_nothing(context: Flask, cast: Cast) -> None:
    device, other = Authenticator(), Authenticator()
    with transaction():
        added(cast.technician, device)
        added(cast.owner, other)
        assert tried(device.sign(asked(), userHandle=other.handle)) == passkeys.OPENS_NOTHING
        without = json.loads(device.sign(asked()))
        del without["response"]["userHandle"]
        assert tried(json.dumps(without)) == passkeys.OPENS_NOTHING
        stolen = replace(device, credential_id=other.credential_id, handle=other.handle)
        assert tried(stolen.sign(asked())) == passkeys.OPENS_NOTHING, "the owner's name over the technician's key"


def test_a_challenge_counts_once_on_its_page_for_two_minutes(context: Flask, cast: Cast) -> None:
    device = Authenticator(step=0)
    with transaction():
        added(cast.technician, device)
        first = device.sign(asked())
        assert tried(first) == "Ines"
        assert tried(first) == passkeys.TOO_OLD, "a replay"
        asked()
        assert tried(first) == passkeys.OPENS_NOTHING, "a replay against the next challenge"
        options = asked()
        assert tried(device.sign(options), page="another") == passkeys.TOO_OLD
        assert tried(device.sign(options), after=timedelta(seconds=121)) == passkeys.TOO_OLD
        assert tried(device.sign(asked()), after=timedelta(seconds=120)) == "Ines"
        assert tried(device.sign(asked()), after=timedelta(seconds=-1)) == passkeys.TOO_OLD, "the clock was set back"


def test_one_for_adding_never_signs_in(context: Flask, cast: Cast) -> None:
    device = Authenticator()
    with transaction():
        added(cast.technician, device)
        options = passkeys.options_to_add(session().get_one(Person, cast.technician.id), HERE, page="door", now=NOW)
        assert tried(device.sign(options)) == passkeys.TOO_OLD


@pytest.mark.parametrize("step", [0, -1])
def test_a_count_that_does_not_go_on_is_refused_and_entered(context: Flask, cast: Cast, step: int) -> None:
    device = Authenticator(counter=6)
    with transaction():
        key = added(cast.technician, device)
        assert tried(device.sign(asked())) == "Ines"
        device.step = step
        assert tried(device.sign(asked())) == passkeys.WENT_BACK
        assert key.counter == 7
    entry = session().scalar(sa.select(JournalEntry).where(JournalEntry.event == "sign_in:refused"))
    assert entry is not None and f"from 7 to {7 + step}" in (entry.reason or "")


def test_an_ended_key_and_that_of_who_left_open_nothing(context: Flask, cast: Cast) -> None:
    device, other = Authenticator(), Authenticator()
    with transaction():
        key = added(cast.technician, device)
        added(cast.second, other)
        opened, _ = service.open_sign_in(key.person, None, agent="a browser", by_password=False, now=NOW)
        passkeys.end_passkey(key, by=BY, now=NOW)
        service.change_person(session().get_one(Person, cast.second.id), role=session().get_one(Person, cast.second.id).role,
                              active=False, by=BY, now=NOW)
        assert opened.ended_at == NOW
        assert [tried(one.sign(asked())) for one in (device, other)] == [passkeys.OPENS_NOTHING] * 2
        assert not passkeys.any_open() and passkeys.offered(HERE) is None
        with pytest.raises(RuleBroken, match="ended already"):
            passkeys.end_passkey(key, by=BY, now=NOW)


def test_a_key_that_ends_between_weighing_and_counting_opens_nothing(context: Flask, cast: Cast) -> None:
    device = Authenticator()
    with transaction():
        key = added(cast.technician, device)
        weighed = passkeys.weigh(device.sign(asked()), challenges.take(For.SIGNING_IN, "door", NOW), HERE)
        assert isinstance(weighed, passkeys.Signed)
        passkeys.end_passkey(key, by=BY, now=NOW)
        session().flush()
        assert passkeys.use_passkey(weighed, place="here", now=NOW) == passkeys.OPENS_NOTHING


@pytest.mark.parametrize("wrong", [{"origin": "https://shop.example"}, {"rp_id": "shop.example"}, {"verifies": False}])
def test_none_is_added_that_was_made_elsewhere_or_asks_for_nobody(context: Flask, cast: Cast, wrong: dict[str, object]) -> None:
    with transaction(), pytest.raises(BadInput, match="none was added"):
        added(cast.technician, Authenticator(**wrong))  # type: ignore[arg-type]


def test_none_is_added_late_twice_nameless_or_unread(context: Flask, cast: Cast) -> None:
    device = Authenticator()
    with transaction():
        added(cast.technician, device)
        with pytest.raises(BadInput, match="in the list already"):
            added(cast.owner, device)
        with pytest.raises(BadInput, match="Name the device"):
            added(cast.owner, Authenticator(), "  ")
        owner = session().get_one(Person, cast.owner.id)
        for credential in ("{", "[]", "null", '{"id": 5}', "", "\x00", '{"response": {}}'):
            passkeys.options_to_add(owner, HERE, page="own page", now=NOW)
            with pytest.raises(BadInput):
                passkeys.add_passkey(owner, "phone", credential, challenges.take(For.ADDING, "own page", NOW), HERE, by=BY, now=NOW)
            asked()
            assert tried(credential) == passkeys.OPENS_NOTHING
        made = Authenticator().make(passkeys.options_to_add(owner, HERE, page="own page", now=NOW))
        with pytest.raises(BadInput, match="two minutes"):
            passkeys.add_passkey(owner, "phone", made, challenges.take(For.ADDING, "own page", NOW + timedelta(seconds=121)), HERE,
                                 by=BY, now=NOW)


@pytest.mark.parametrize(("host", "origin", "words"), [
    ("192.0.2.7", "https://192.0.2.7", "host name"), ("[2001:db8::7]", "https://[2001:db8::7]", "host name"),
    ("shop.example", "http://shop.example", "over https"), ("shop.example", "https://shop.example:8443", None),
    ("localhost", "http://localhost:5000", None), ("bench.localhost", "http://bench.localhost", None),
    ("notlocalhost", "http://notlocalhost", "over https"),
])
def test_where_browsers_use_none_the_page_says_so(host: str, origin: str, words: str | None) -> None:
    """Level 2, 5.1.3 step 7 and 5 (a secure context, a valid domain that is no IP address)."""
    found = Site(host, origin).trouble()
    assert found is None if words is None else words in (found or "")


def test_what_is_remembered_has_an_end(context: Flask) -> None:
    for number in range(challenges.MOST + 5):
        challenges.give(For.SIGNING_IN, f"page {number}", NOW)
    assert challenges.take(For.SIGNING_IN, "page 0", NOW) is None
    assert challenges.take(For.SIGNING_IN, f"page {challenges.MOST + 4}", NOW) is not None


def page_token(client: PageClient, path: str) -> str:
    return client.get(path).all("input", name="page_token")[0].get("value", "")


def fetched(client: PageClient, page: str, path: str) -> str:
    """As the page's script asks."""
    answer = client.client.post(path, headers={"X-Page-Token": page_token(client, page)})
    assert answer.status_code == 200 and answer.mimetype == "application/json"
    return answer.get_data(as_text=True)


def add_by_pages(client: PageClient, device: Authenticator) -> None:
    made = device.make(fetched(client, "/people/me/passkey", "/people/me/passkey/challenge"))
    assert "The passkey is added" in client.post("/people/me/passkey", {"name": "my phone", "credential": made}).words


def end_of(page: Page) -> str:
    """Where the page's button ends a passkey."""
    return next(one.get("action", "") for one in page.all("form") if "/passkeys/" in one.get("action", ""))


def test_by_the_pages_it_is_added_used_and_ended(app: Flask, cast: Cast, technician: PageClient) -> None:
    device, door = Authenticator(), PageClient(app)
    assert "/people/passkey" not in str(door.get("/people/sign-in").text), "offered only where somebody has one"
    add_by_pages(technician, device)
    assert "my phone" in technician.get("/people/me").words
    signed = device.sign(fetched(door, "/people/sign-in", "/people/passkey/challenge"))
    door.post("/people/passkey", {"credential": signed})
    assert "Ines" in door.get("/people/me").words
    assert "Enter your password" in door.get("/people/me/passkey", status=403).title, "it proves no password"
    technician.post(end_of(technician.get("/people/me")), form_on="/people/me")
    assert "Sign in" in door.get("/people/me").title, "what it opened is ended"
    assert "my phone" not in technician.get("/people/me").words, "the sign-in that ended it stays"


def test_the_owner_ends_anybodys_and_adds_nobodys_and_a_colleague_does_neither(app: Flask, cast: Cast, technician: PageClient,
                                                                                owner: PageClient, counter: PageClient) -> None:
    device = Authenticator()
    add_by_pages(technician, device)
    ends = end_of(owner.get(f"/people/{cast.technician.id}"))
    own = ends.replace("/people/passkeys/", "/people/me/passkeys/")
    assert counter.send(ends, counter.token(), status=403)
    for stranger in (counter, owner):
        assert "None of your passkeys" in stranger.send(own, stranger.token(), status=404).words
    assert "my phone" in technician.get("/people/me").words
    assert "passkey is ended" in owner.post(ends, form_on=f"/people/{cast.technician.id}").words
    assert "Sign in" in technician.get("/people/me").title


def test_a_sign_in_without_the_password_adds_and_ends_none(app: Flask, cast: Cast, technician: PageClient) -> None:
    device, door = Authenticator(), PageClient(app)
    add_by_pages(technician, device)
    signed = device.sign(fetched(door, "/people/sign-in", "/people/passkey/challenge"))
    door.post("/people/passkey", {"credential": signed})
    page = door.get("/people/me")
    door.send("/people/me/passkey/challenge", door.token(), status=403)
    assert "Enter your password" in door.send(end_of(page), door.token(), status=403).title
    door.send("/people/me/passkey", {**door.token(), "name": "mine", "credential": "{}"}, status=403)
    assert "my phone" in door.get("/people/me").words


def test_tries_are_slowed_by_place_as_those_of_a_badge(app: Flask, cast: Cast, technician: PageClient) -> None:
    device, door = Authenticator(), PageClient(app)
    add_by_pages(technician, device)
    said = [door.post("/people/passkey", {"credential": "{}"}).words for _ in range(guessing.BURST + 1)]
    assert all("opens nothing" in one or "two minutes" in one for one in said[:-1])
    assert "Too many tries. Wait" in said[-1]


def test_an_address_of_numbers_is_told_in_words(app: Flask, cast: Cast, technician: PageClient) -> None:
    add_by_pages(technician, Authenticator())
    page = PageClient(app).client.get("/people/sign-in", base_url="http://127.0.0.1").get_data(as_text=True)
    assert "Passkeys do not work at an address of numbers" in page and "Use a passkey" not in page
    here = technician.client.get("/people/me/passkey").get_data(as_text=True)
    assert "Add a passkey</button>" in here


def test_where_one_was_going_is_kept(app: Flask, cast: Cast, technician: PageClient) -> None:
    device, door = Authenticator(), PageClient(app)
    add_by_pages(technician, device)
    signed = device.sign(fetched(door, "/people/sign-in", "/people/passkey/challenge"))
    answer = door.post("/people/passkey", {"credential": signed}, form_on="/people/sign-in?then=/people/me",
                       action="/people/passkey", follow=False, status=303)
    assert answer.response.headers["Location"] == "/people/me"
