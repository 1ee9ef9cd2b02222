"""No button for what a sign-in may not do: every act and every form that a page offers, of every room, for every role."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask, g
from werkzeug.exceptions import HTTPException

from app.access.models import Person
from app.access.rules import ALLOWED, May, Role
from app.db import session, transaction
from app.errors import Missing
from app.gates import ACTS, act_needs
from app.kernel.links import linked
from app.kernel.needs import needs
from app.orders.models import RepairOrder
from tests.hours import make
from tests.pages import HTML, Page, PageClient
from tests.people import Cast
from tests.whole_shop import WholeShop, opened, somebody

SEEN_IN = {"documents.twin": {"kind": "report"}}
READS_ONLY = ("Open ",)  # a button that only opens a page


def arguments(app: Flask, endpoint: str) -> dict[str, object]:
    rule = next(one for one in app.url_map.iter_rules(endpoint))
    return {name: 1 if name.endswith("_id") else "x" for name in rule.arguments} | SEEN_IN.get(endpoint, {})


@pytest.mark.parametrize("endpoint", sorted(ACTS))
def test_an_act_is_offered_to_whoever_may_do_it_and_to_nobody_else(context: Flask, cast: Cast, endpoint: str) -> None:
    values = arguments(context, endpoint)
    for who, role in ((cast.counter, Role.COUNTER), (cast.technician, Role.TECHNICIAN), (cast.owner, Role.OWNER)):
        with context.test_request_context("/"):
            g.person = session().get(Person, who.id)
            (told,) = linked([Missing("Something is missing.", endpoint, tuple(values.items()))])
        need = act_needs(endpoint, values) or needs(context.view_functions[endpoint])
        assert bool(told.act) == (need in ALLOWED[role]) == (not told.left_to), (endpoint, role)
        opens = needs(context.view_functions[endpoint]) in ALLOWED[role]
        assert (told.url is not None) == opens, (endpoint, role)
        assert told.act or role.value not in told.left_to


@pytest.mark.parametrize("endpoint", sorted(ACTS))
def test_an_act_that_writes_needs_more_than_to_read(context: Flask, endpoint: str) -> None:
    """A page that everybody reads, with an act that not everybody may do, names what the act needs."""
    values = arguments(context, endpoint)
    need = act_needs(endpoint, values) or needs(context.view_functions[endpoint])
    assert need is not May.SEE or ACTS[endpoint].startswith(READS_ONLY), (endpoint, need)


def test_the_technician_is_told_who_records_the_call_and_gets_no_button(app: Flask, technician: PageClient,
                                                                        counter: PageClient, cast: Cast) -> None:
    with app.app_context(), transaction():
        order = make.diagnosed()
        make.worked(order, make.STRIP_DOWN, cast.technician.actor, 0.0, 3.9)
        here = f"/orders/{order.id}"
    page = technician.get(here)
    assert "about the hours" in page.words and f"{here}/hours/call" not in page.links()
    assert "Only counter and owner sign-ins can record approvals." in page.words
    assert f"{here}/hours/call" in counter.get(here).links()


def offers(page: Page) -> Iterator[tuple[str, str]]:
    """Every button's address and every form's, each with its method."""
    for link in page.all("a"):
        if "btn" in link.get("class", "").split():
            yield link.get("href", ""), "GET"
    for form in page.root.iter(HTML + "form"):
        yield form.get("action", ""), form.get("method", "get").upper()


@pytest.mark.parametrize("role", list(Role))
def test_no_page_of_a_filled_shop_offers_what_is_refused(whole_shop: WholeShop, tmp_path: Path, role: Role) -> None:
    with opened(whole_shop.copied(tmp_path / "shop")) as app:
        client, adapter = PageClient(app).sign_in(somebody(app, role)), app.url_map.bind("localhost")
        with app.app_context():
            one_of_each = {(one.stage, one.ended_as): one.id for one in session().query(RepairOrder)}
        rooms = {str(rule.rule).replace("<int:order_id>", "{}") for rule in app.url_map.iter_rules()
                 if rule.arguments == {"order_id"} and "GET" in (rule.methods or ())}
        wrong, read = set(), 0
        for path in ["/", "/hours", "/sums", *(room.format(order) for order in one_of_each.values() for room in sorted(rooms))]:
            answer = client.client.get(path, follow_redirects=True)
            if answer.status_code != 200 or answer.mimetype != "text/html" or not answer.get_data(as_text=True).startswith(
                    "<!doctype html>"):
                continue
            read += 1
            for address, method in offers(Page(answer)):
                try:
                    endpoint, _ = adapter.match(address.split("?")[0].split("#")[0] or path, method=method)
                except HTTPException:
                    continue
                need = needs(app.view_functions[endpoint])
                if need is not None and need not in ALLOWED[role]:
                    wrong.add((path.split("/")[-1], endpoint))
        assert wrong == set() and read > 100
