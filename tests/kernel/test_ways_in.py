"""Requests that no page of ours would send, or not so: each is answered in words and changes nothing it should not."""

from __future__ import annotations

import io
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session

from app.db import session, transaction
from app.errors import RuleBroken
from app.kernel import money
from app.kernel.links import here_only
from app.kernel.models import HeldPost
from app.orders.models import RepairOrder
from app.orders.stages import End, Stage
from app.photos.queries import of_order
from tests import factories
from tests.factories import NOW
from tests.findings import make as bench
from tests.intake.make import jpeg
from tests.orders import steps
from tests.pages import Page, PageClient
from tests.people import Cast

HUGE = "99999999999999999999"  # more than 64 bits


@pytest.mark.parametrize("path", ["//elsewhere.example", "/\t/elsewhere.example", "/\n/elsewhere.example", "/\\elsewhere.example",
                                  "https://elsewhere.example", "", "elsewhere"])
def test_nothing_leads_off_the_site(path: str) -> None:
    """The URL standard has browsers drop tabs and line ends and read a backslash as a slash (WHATWG URL, from memory)."""
    assert here_only(path) == "/"
    assert here_only("/orders/1?phase=as_left") == "/orders/1?phase=as_left"


@pytest.mark.parametrize("path", [f"/orders/{HUGE}", f"/photos/{HUGE}", f"/papers/{HUGE}/file", f"/check-in?customer={HUGE}"])
def test_a_number_beyond_any_is_refused_in_words(technician: PageClient, path: str) -> None:
    assert "too large" in technician.get(path, status=422).words


def test_a_figure_that_is_no_number_is_none(technician: PageClient) -> None:
    technician.get("/check-in?customer=²")


def test_a_sum_beyond_any_is_refused_beside_its_field() -> None:
    with pytest.raises(ValueError, match="more than can be meant"):
        money.parse("9" * 30, "AUD")


def new_order(app: Flask, *stages: Stage) -> int:
    with app.app_context(), transaction():
        steps.equip()
        made = factories.order(amp=factories.amp(protection_class=steps.CLASS_I)).id
    for step in [step for stage in stages for step in steps.PROPER[stage]]:
        with app.app_context(), transaction():
            step(session().get_one(RepairOrder, made), NOW)
    return made


def test_a_version_that_is_none_counts_as_an_old_page(app: Flask, technician: PageClient) -> None:
    order_id = new_order(app)
    with app.app_context(), transaction():
        finding_id = bench.finding(session().get_one(RepairOrder, order_id)).id
    page = technician.post(f"/orders/{order_id}/findings/{finding_id}", {"version": "²"}, status=409)
    assert "This was saved after you opened the page" in page.words


def test_two_photos_from_one_page_are_never_taken_for_one(app: Flask, technician: PageClient) -> None:
    """Back, another file, send: the page's key is the same, what is sent is not."""
    order_id = new_order(app)
    path = f"/orders/{order_id}/photos"
    form: dict[str, Any] = {**technician.get(path).fields(path), "place": "front"}
    technician.send(path, {**form, "photos": jpeg()})
    assert "saved already" in technician.send(path, {**form, "photos": jpeg()}).words
    assert "with different entries" in technician.send(path, {**form, "photos": jpeg("#0b0b0b")}, status=409).words
    with app.app_context():
        assert len(of_order(order_id)) == 1


def test_a_stale_tab_moves_no_order_a_second_time(app: Flask, owner: PageClient) -> None:
    order_id = new_order(app, Stage.INTAKE, Stage.TEARDOWN)  # so that the next gate would open as well
    path = f"/orders/{order_id}/on"
    stale = owner.get(f"/orders/{order_id}").fields(path)
    owner.send(path, {**stale, "once": secrets.token_hex(16)})
    assert "moved after you opened this page" in owner.send(path, stale, status=409).words
    with app.app_context():
        assert session().get_one(RepairOrder, order_id).stage is Stage.TEARDOWN


def test_a_form_of_another_site_is_neither_done_nor_held(app: Flask, stranger: PageClient) -> None:
    answer = stranger.client.post("/orders/1/on", data={"x": "1", "photos": (io.BytesIO(b"x"), "x.jpg")},
                                  headers={"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 403 and "did not come from this page" in Page(answer).words
    with app.app_context():
        assert session().scalar(sa.select(sa.func.count()).select_from(HeldPost)) == 0


@contextmanager
def full_disk() -> Iterator[None]:
    """The disk is full at the very commit, after the view has said “Saved.”"""
    real = Session.commit

    def full(self: Session) -> None:
        if any(type(one).__name__ == "OnceKey" for one in self.new):
            raise OperationalError("COMMIT", {}, Exception("database or disk is full"))
        real(self)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Session, "commit", full)
        yield


def test_what_was_not_saved_is_not_said_to_be_and_is_sent_again_from_there(owner: PageClient) -> None:
    form = {**owner.get("/shop").fields("/shop"), "phone": "555 0123"}
    with full_disk():
        page = owner.send("/shop", form, status=503)
    assert "The disk is full, so nothing was saved" in page.words and "Saved." not in page.words
    assert "555 0123" in page.words
    owner.send("/shop", page.fields("/shop"))  # there is room again
    assert owner.get("/shop").fields("/shop")["phone"] == "555 0123"


def test_a_refusal_shows_no_password(owner: PageClient, cast: Cast) -> None:
    path = f"/people/{cast.technician.id}"
    secret = "four words in a row"
    form = {**owner.get(path).fields(path), "password": secret}
    with full_disk():
        page = owner.send(path, form, status=503)
    assert secret not in page.text and "password" not in page.fields(path)


def test_no_soak_run_is_too_short_to_show_anything(owner: PageClient) -> None:
    assert "Enter minutes, from 30" in owner.post("/shop", {"soak_minutes": "1"}).words


def test_papers_are_issued_by_who_does_that_work_and_while_it_goes_on(app: Flask, technician: PageClient,
                                                                      owner: PageClient) -> None:
    order_id = new_order(app, Stage.INTAKE)
    path = f"/orders/{order_id}/papers/report"
    technician.send(f"/orders/{order_id}/papers/notice", {**technician.token(), "as_page": "yes"}, status=403)
    assert "Issue revision 1" in technician.get(path).words
    with app.app_context(), transaction():
        order = session().get_one(RepairOrder, order_id)
        steps.reported(order, NOW)
        order.ended_as, order.ended_at = End.UNREPAIRED, NOW
    with app.app_context(), transaction(), pytest.raises(RuleBroken, match="has ended"):
        steps.reported(session().get_one(RepairOrder, order_id), NOW)
    assert "Issue revision" not in owner.get(path).words
    owner.send(path, {**owner.token(), "as_page": "yes"}, status=409)
    assert "Repair report, revision 1" in owner.get(f"/orders/{order_id}/papers").words
