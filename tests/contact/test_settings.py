"""The mail server's settings: the server's own words, and a password that stands in its file and nowhere else."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app.contact import password, queries
from app.contact.rules import Security
from app.contact.service import settings
from app.contact.smtp import Seen
from app.contact.spec import ServerFacts, TemplateFacts
from app.db import Base, session, transaction
from app.errors import BadInput, Unavailable
from tests.contact.mail import PASSWORD, Post, authority, listening
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY


def server(app: Flask, port: int = 587) -> None:
    with app.app_context(), transaction():
        settings.set_server(ServerFacts("localhost", port, Security.STARTTLS, "bench@lowgate.example", "shop"), by=BY, now=NOW)


def everything() -> str:
    """Every row of every table."""
    return json.dumps([[str(row) for row in session().execute(sa.select(table))] for table in Base.metadata.sorted_tables])


def test_the_password_is_in_its_file_and_nowhere_else(
    app: Flask, owner: PageClient, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.delenv(password.ENVIRONMENT, raising=False)
    server(app)
    form = owner.get("/mail/password")
    (field,) = [one for one in form.all("input") if one.get("name") == "server_password"]
    assert field.get("type") == "password" and field.get("data-private") is not None and not field.get("value")
    owner.send("/mail/password", {**form.fields("/mail/password"), "server_password": PASSWORD}, status=303, follow=False)
    file = Path(app.config["DATA"]) / password.FILE
    assert file.read_text("utf-8") == PASSWORD and stat.S_IMODE(file.stat().st_mode) == 0o600
    assert [one.name for one in file.parent.glob(f"{password.FILE}*")] == [password.FILE]
    with app.app_context():
        assert PASSWORD not in everything() and "password_set" in everything()
    assert PASSWORD not in caplog.text and PASSWORD not in owner.get("/mail").text


def test_the_password_is_not_held_with_a_form_that_came_too_late(app: Flask, owner: PageClient) -> None:
    server(app)
    fields = owner.get("/mail/password").fields("/mail/password")
    with app.app_context(), transaction() as current:
        current.execute(sa.text("UPDATE sign_in SET ended_at = :now"), {"now": "2026-01-01 00:00:00"})
    owner.client.post("/mail/password", data={**fields, "server_password": PASSWORD})
    with app.app_context():
        assert PASSWORD not in everything()


def test_the_environment_comes_first(app: Flask, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    password.write(tmp_path, "in the file")
    monkeypatch.setenv(password.ENVIRONMENT, "in the environment")
    assert password.read(tmp_path) == "in the environment"
    monkeypatch.delenv(password.ENVIRONMENT)
    assert password.read(tmp_path) == "in the file"
    password.write(tmp_path, "")
    assert password.read(tmp_path) == "" and list(tmp_path.glob("mail*")) == []
    with pytest.raises(Unavailable):
        password.write(tmp_path / "not there", "x")


def test_the_test_shows_the_server_s_own_words(
    app: Flask, owner: PageClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = authority(tmp_path)
    monkeypatch.setenv("SSL_CERT_FILE", str(files[0]))
    monkeypatch.setenv(password.ENVIRONMENT, PASSWORD)
    with listening(Post(), files, most=5_000_000) as port:
        server(app, port)
        owner.post("/mail/test", form_on="/mail")
        assert "would accept mail" in owner.get("/mail").words and "5.0 MB" in owner.get("/mail").words
        monkeypatch.setenv(password.ENVIRONMENT, "wrong")
        owner.post("/mail/test", form_on="/mail")
        assert "535 5.7.8 Authentication credentials invalid" in owner.get("/mail").words


def test_what_a_test_saw_falls_with_a_change(context: Flask) -> None:
    server(context)
    with transaction():
        found = queries.server()
        assert found is not None
        settings.keep_test(found, Seen(True, "250 Ok", 1000), by=BY, now=NOW)
        settings.set_server(ServerFacts("other.example", 465, Security.TLS, "bench@lowgate.example"), by=BY, now=NOW)
        assert found.tested_at is None and found.server_most_bytes is None and not found.test_passed


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"host": "http://mail"}, "host"),
        ({"host": "a b"}, "host"),
        ({"sender_address": "bench"}, "sender_address"),
        ({"host": "a\r\nb"}, "host"),
    ],
)
def test_a_server_that_is_none_is_refused(context: Flask, given: dict[str, str], field: str) -> None:
    usual = {"host": "mail.example", "port": 587, "security": Security.STARTTLS, "sender_address": "a@b.example"}
    with transaction(), pytest.raises(BadInput) as refused:
        settings.set_server(ServerFacts(**{**usual, **given}), by=BY, now=NOW)  # type: ignore[arg-type]
    assert refused.value.field == field


def test_a_template_names_only_facts_that_there_are(context: Flask) -> None:
    with transaction():
        with pytest.raises(BadInput, match="no fact {nmae}"):
            settings.add_template(TemplateFacts("A", "Hello {nmae}", "x"), by=BY, now=NOW)
        made = settings.add_template(TemplateFacts("A", "Hello {name}", "x"), by=BY, now=NOW)
        with pytest.raises(BadInput, match="already"):
            settings.add_template(TemplateFacts("A", "x", "x"), by=BY, now=NOW)
        settings.change_template(made, TemplateFacts("A", "Good day {name}", "x"), by=BY, now=NOW)
        settings.retire_template(made, by=BY, now=NOW)
        session().flush()
        assert list(queries.templates()) == [] and made.subject == "Good day {name}"
