"""Nobody chooses another's password: the owner makes a code, the person sets their own with it, once, within a day.

After OWASP ASVS 5.0, 6.4.1 and 6.4.3: initial codes are random, used once and short-lived; a day is the shop's own figure.
"""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from flask import Flask

from app.access import service
from app.access.models import PasswordCode, Person
from app.access.rules import CODE_LASTS
from app.cli import main
from app.db import session, transaction
from app.errors import BadInput
from app.journal.models import JournalEntry
from tests.conftest import NOW
from tests.pages import Page, PageClient
from tests.people import BY, PASSWORD, Cast

NEW = "eleven brass teapots"


def made(owner: PageClient, person_id: int) -> tuple[Page, str]:
    page = owner.post(f"/people/{person_id}/password-code", form_on=f"/people/{person_id}",
                      action=f"/people/{person_id}/password-code")
    found = re.search(r"\b([A-Z2-9]{4} [A-Z2-9]{4} [A-Z2-9]{4})\b", page.words)
    assert found, page.words
    return page, found.group(1)


def test_somebody_new_sets_their_own_password(app: Flask, owner: PageClient, stranger: PageClient) -> None:
    page = owner.get("/people")
    assert not page.all("input", name="password"), "the owner chooses nobody's password"
    owner.post("/people", {"name": "Sefa", "role": "technician"})
    with app.app_context():
        sefa = session().query(Person).filter_by(name="Sefa").one()
        assert sefa.password_hash is None
        number = sefa.id
    assert "Wrong name or password" in stranger.post("/people/sign-in", {"name": "Sefa", "password": PASSWORD}).words
    _, code = made(owner, number)
    entries = {"name": "Sefa", "password_code": code.lower(), "new_password": NEW}
    assert "On the bench" in stranger.post("/people/set-password", entries).words
    again = PageClient(app).post("/people/set-password", entries)
    assert "wrong, used or older than a day" in again.words
    assert "On the bench" in PageClient(app).post("/people/sign-in", {"name": "Sefa", "password": NEW}).words


def test_the_code_is_shown_once_and_kept_only_as_a_hash(app: Flask, owner: PageClient, cast: Cast) -> None:
    page, code = made(owner, cast.technician.id)
    assert "once" in page.words and code not in owner.get(f"/people/{cast.technician.id}").words
    with app.app_context():
        row = session().query(PasswordCode).one()
        assert code.replace(" ", "") not in (row.code_hash, str(row.person_id))
        told = [f"{one.before}{one.after}{one.reason}" for one in session().query(JournalEntry)]
        assert not any(code.replace(" ", "") in words or code in words for words in told)
    assert code.replace(" ", "") not in str(owner.client.get_cookie("tagstrip_notes"))


def test_a_newer_code_ends_the_one_before_and_a_day_ends_each(context: Flask, cast: Cast) -> None:
    with transaction() as current:
        ines = current.get_one(Person, cast.technician.id)
        first = service.make_password_code(ines, by=BY, now=NOW)
        second = service.make_password_code(ines, by=BY, now=NOW)
        for code, now in ((first, NOW), (second, NOW + CODE_LASTS + timedelta(seconds=1)), (second, NOW - timedelta(seconds=1))):
            assert service.password_code_trouble(ines, code, now=now, place="address x") == service.NO_CODE
            with pytest.raises(BadInput, match="wrong, used or older"):
                service.use_password_code(ines, code, NEW, agent="a browser", now=now)
        with pytest.raises(BadInput, match="at least 15"):
            service.use_password_code(ines, second, "short", agent="a browser", now=NOW)
        service.use_password_code(ines, second, NEW, agent="a browser", now=NOW + CODE_LASTS)
        with pytest.raises(BadInput):
            service.use_password_code(ines, second, NEW, agent="a browser", now=NOW + CODE_LASTS)


def test_a_code_is_anothers_for_nobody_else_and_of_who_left_for_nobody(context: Flask, cast: Cast) -> None:
    with transaction() as current:
        ines, odd = current.get_one(Person, cast.technician.id), current.get_one(Person, cast.second.id)
        code = service.make_password_code(ines, by=BY, now=NOW)
        for who in (odd, None):
            assert service.password_code_trouble(who, code, now=NOW, place="address x") == service.NO_CODE
        assert service.password_code_trouble(ines, code, now=NOW, place="address x") is None
        service.change_person(ines, role=ines.role, active=False, by=BY, now=NOW)
        assert service.password_code_trouble(ines, code, now=NOW, place="address x") == service.NO_CODE
        with pytest.raises(BadInput):
            service.use_password_code(ines, code, NEW, agent="a browser", now=NOW)


def test_setting_it_ends_every_other_sign_in(app: Flask, owner: PageClient, technician: PageClient, cast: Cast) -> None:
    _, code = made(owner, cast.technician.id)
    PageClient(app).post("/people/set-password", {"name": "Ines", "password_code": code, "new_password": NEW})
    assert technician.get("/").title.startswith("Sign in")


def test_guessing_codes_is_slowed(app: Flask, owner: PageClient, stranger: PageClient, cast: Cast) -> None:
    made(owner, cast.technician.id)
    for _ in range(5):
        assert "wrong, used" in stranger.post("/people/set-password", {
            "name": "Ines", "password_code": "ABCD EFGH JKLM", "new_password": NEW}).words
    assert "Too many tries" in stranger.post("/people/set-password", {
        "name": "Ines", "password_code": "ABCD EFGH JKLM", "new_password": NEW}).words


def test_an_owner_who_lost_the_password_has_a_code_printed_where_the_data_lies(
        app: Flask, stranger: PageClient, capsys: pytest.CaptureFixture[str]) -> None:
    if app.extensions["tagstrip_db"].engine.dialect.name != "sqlite":
        return  # the command finds the database of the data folder
    assert main(["user", "code", "--name", "tove", "--data", str(app.config["DATA"])]) == 0
    code = re.search(r": ([A-Z2-9]{4} [A-Z2-9]{4} [A-Z2-9]{4})\n", capsys.readouterr().out)
    assert code
    page = stranger.post("/people/set-password", {"name": "Tove", "password_code": code.group(1), "new_password": NEW})
    assert "On the bench" in page.words
