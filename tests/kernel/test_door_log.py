"""The log of the door: one line for each coming, going and refusal, and nothing in it that was typed."""

from __future__ import annotations

import json
import logging
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import make_engine, session
from app.kernel import door_log
from app.kernel.door_log import What, note
from tests.pages import PageClient
from tests.people import PASSWORD

TYPED = "zqx-typed-by-hand"


@pytest.fixture
def lines(tmp_path: Path) -> Iterator[Any]:
    folder = tmp_path / "logged"
    folder.mkdir()
    door_log._seen.clear()
    door_log.keep_in(folder)
    yield lambda: [json.loads(one) for one in (folder / door_log.FILE).read_text().splitlines()]
    for handler in list(logging.getLogger("tagstrip.door").handlers):
        logging.getLogger("tagstrip.door").removeHandler(handler)
        handler.close()


def test_comings_goings_and_refusals_are_written_with_who_and_where(lines: Any, stranger: PageClient,
                                                                   technician: PageClient) -> None:
    stranger.post("/people/sign-in", {"name": "Mara", "password": TYPED})
    stranger.post("/people/sign-in", {"name": TYPED, "password": TYPED})
    stranger.post("/people/sign-in", {"name": "Mara", "password": PASSWORD})
    stranger.send("/people/switch", stranger.get("/").fields("/people/switch"))
    technician.get("/people", status=403)
    technician.client.post("/theme", data={"theme": TYPED}, headers={"Origin": f"http://{TYPED}.example"})
    technician.client.post(f"/orders/1/on?{TYPED}", data={"page_token": TYPED, TYPED: TYPED})
    technician.client.post("/people/me", data={"x": "y" * 3_000_000})
    found = lines()
    assert [(one["what"], one.get("person", ""), one["address"]) for one in found] == [
        ("sign-in refused", "", "127.0.0.1"), ("sign-in refused", "", "127.0.0.1"), ("signed in", "Mara", "127.0.0.1"),
        ("signed out", "Mara", "127.0.0.1"), ("refused", "Ines", "127.0.0.1"),
        ("form of another site refused", "Ines", "127.0.0.1"), ("form of no page of this sign-in refused", "Ines", "127.0.0.1"),
        ("form too large", "Ines", "127.0.0.1")]
    assert {"at", "what", "address"} <= set.intersection(*(set(one) for one in found))
    assert TYPED not in json.dumps(found) and "Mara" not in json.dumps(found[:2])


def test_who_is_told_to_wait_is_written(lines: Any, stranger: PageClient) -> None:
    for _ in range(6):
        stranger.post("/people/sign-in", {"name": "Mara", "password": TYPED})
    assert [one["what"] for one in lines()] == ["sign-in refused"] * 5 + ["told to wait"]


def test_a_name_writes_no_second_line(lines: Any, tmp_path: Path) -> None:
    """ASVS 5.0 16.4.1: what is logged is encoded, so that nobody writes lines of their own."""
    name = 'Ines\n{"what": "signed in", "person": "Tove"}\r\x85\u2028\u202e'
    note(What.REFUSED, person=name, at="address 10.0.0.1")
    assert [one["person"] for one in lines()] == [name]
    told = (tmp_path / "logged" / door_log.FILE).read_bytes()
    assert told.count(b"\n") == 1 and all(32 <= byte < 127 for byte in told.rstrip(b"\n"))


def test_a_flood_is_counted_and_not_written(lines: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    for at in ("10.0.0.1", "10.0.0.2"):
        for _ in range(500):
            note(What.TOO_MANY, at=f"address {at}")
    found = lines()
    assert len(found) == 2 * door_log.ALIKE and found[door_log.ALIKE - 1]["more"] == "not written for a minute"
    later = door_log.seconds() + 61
    monkeypatch.setattr(door_log, "seconds", lambda: later)
    note(What.TOO_MANY, at="address 10.0.0.1")
    assert len(lines()) == 2 * door_log.ALIKE + 1


def test_it_turns_over_by_size_and_is_its_owners(tmp_path: Path, lines: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(door_log, "MOST_BYTES", 2_000)
    monkeypatch.setattr(door_log, "ALIKE", 10_000)
    door_log.keep_in(tmp_path)
    for _ in range(300):
        note(What.REFUSED, at="address 10.0.0.1")
    files = sorted(tmp_path.glob("door.log*"))
    assert len(files) == door_log.FILES and all(one.stat().st_size <= 2_000 for one in files)
    assert {stat.S_IMODE(one.stat().st_mode) for one in files} == {0o600}


def test_a_folder_that_cannot_be_written_to_stops_nothing(tmp_path: Path, lines: Any, capsys: pytest.CaptureFixture[str]) -> None:
    door_log.keep_in(tmp_path / "not there")
    note(What.REFUSED, at="address 10.0.0.1")
    assert '"what": "refused"' in capsys.readouterr().err


def test_what_the_database_says_of_an_error_holds_no_entry(blank_url: str) -> None:
    """Of either engine: neither the parameters of a statement nor PostgreSQL's DETAIL with the values of a key."""
    engine = make_engine(blank_url)
    table = sa.table("once_key", *(sa.column(name) for name in ("key", "fingerprint", "location", "at")))
    row = {"key": TYPED, "fingerprint": TYPED, "location": TYPED, "at": "2026-03-02 09:30:00"}
    try:
        with pytest.raises(sa.exc.IntegrityError) as wrong, engine.begin() as connection:
            connection.execute(sa.insert(table), [row])
            connection.execute(sa.insert(table), [row])
        assert TYPED not in str(wrong.value) and TYPED not in str(wrong.value.orig)
    finally:
        engine.dispose()


def test_an_incident_prints_no_entry(app: Flask, technician: PageClient, monkeypatch: pytest.MonkeyPatch,
                                     caplog: pytest.LogCaptureFixture) -> None:
    def broken(*_given: object) -> None:
        session().execute(sa.text("SELECT :typed FROM not_there"), {"typed": TYPED})

    monkeypatch.setattr("app.access.people_views.service.new_pin", broken)
    form = {**technician.get("/people/me").fields("/people/me"), "now_password": PASSWORD, "new_pin": "740592"}
    assert technician.client.post("/people/me", data=form).status_code in (500, 503)
    assert TYPED not in caplog.text and "not_there" in caplog.text


