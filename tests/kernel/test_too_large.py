"""A form with more than can be sent at once: refused on a page that shows what was typed and leads back."""

from __future__ import annotations

import io
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask
from werkzeug.datastructures import FileStorage
from werkzeug.test import encode_multipart

from app import clock
from app.access.models import SignIn
from app.db import session, transaction
from app.findings.models.findings import Finding
from app.kernel.models import HeldPost
from app.orders.stages import Stage
from tests import factories
from tests.pages import Page, PageClient

OBSERVED = "Bulged can on the reservoir, seen at the bench"
FINDING: dict[str, Any] = {"origin": "wear", "disposition": "replace_like", "observation": OBSERVED}
MB = 1024 * 1024


@pytest.fixture
def at(app: Flask) -> str:
    with app.app_context(), transaction():
        order = factories.order()
        order.stage = Stage.TEARDOWN
        return f"/orders/{order.id}/findings/new"


def send(who: PageClient, path: str, fields: dict[str, Any], size: int, status: int = 200, referrer: str = "") -> Page:
    """Post these fields and behind them a file of this size."""
    boundary, body = encode_multipart({**fields, "photos": FileStorage(io.BytesIO(bytes(size)), "film.jpg")})
    answer = who.client.post(path, data=body, content_type=f"multipart/form-data; boundary={boundary}", follow_redirects=True,
                             headers={"Referer": referrer} if referrer else None)
    page = Page(answer)
    assert page.status == status, page.words[:600]
    return page


def test_seventy_megabytes_end_on_a_page_that_keeps_what_was_typed(app: Flask, technician: PageClient, at: str) -> None:
    form = technician.get(at).fields(at)
    page = send(technician, at, {**form, **FINDING}, 70 * MB, 413, f"http://localhost{at}")
    assert "60 MB" in page.words and OBSERVED in page.words
    assert at in page.links(), "no way back to the form"
    again = page.fields(at)
    assert again["observation"] == OBSERVED
    technician.send(at, again)
    with app.app_context():
        assert session().scalar(sa.select(Finding.observation)) == OBSERVED


def test_a_sign_in_that_ended_meanwhile_loses_nothing_typed(app: Flask, technician: PageClient, at: str) -> None:
    form = technician.get(at).fields(at)
    with app.app_context(), transaction():
        session().execute(sa.update(SignIn).values(ended_at=clock.now()))
    send(technician, at, {**form, **FINDING}, 61 * MB)
    with app.app_context():
        assert OBSERVED in (session().scalar(sa.select(HeldPost.fields)) or "")


def test_a_page_that_is_not_ours_shows_nothing_of_it_to_be_sent_on(technician: PageClient, at: str) -> None:
    page = send(technician, at, {**FINDING, "page_token": "forged"}, 61 * MB, 413)
    assert OBSERVED not in page.words and OBSERVED not in page.text


@pytest.mark.parametrize("fields", [{"observation": "x" * (3 * MB)}, {f"field-{n}": "x" for n in range(1200)}],
                         ids=["text", "fields"])
def test_more_than_a_form_can_have_is_said_so(technician: PageClient, at: str, fields: dict[str, str]) -> None:
    assert "more text, or more fields" in send(technician, at, fields, 1, 413).words


def test_words_without_files_are_bounded_too(technician: PageClient, at: str) -> None:
    assert "more text, or more fields" in technician.send(at, {"observation": "x" * (3 * MB)}, status=413).words


def test_somebody_who_never_signed_in_sends_text_only(stranger: PageClient) -> None:
    page = stranger.send("/people/sign-in", {"name": "x" * 70_000, "password": "y"}, status=413)
    assert "up to 64 kB" in page.words
