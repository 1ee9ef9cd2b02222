"""Every route: who may use it, and that reading changes nothing."""

from __future__ import annotations

import itertools
import shutil
from pathlib import Path

import pytest
from flask import Flask

from app.access.rules import ALLOWED, May, Role
from app.kernel.needs import needs
from app.template_globals import edition
from tests.pages import PageClient

PUBLIC = {"static", "health.healthz", "device.font", "device.theme", "access.sign_in", "access.by_pin",
          "access.by_badge", "staff.by_passkey", "staff.passkey_to_sign_in", "staff.set_password", "access.switch",
          "first_start.page", "staff.enrol",
          "trust.ca", "trust.trust"}
HEADERS = ("Content-Security-Policy", "X-Content-Type-Options", "Referrer-Policy", "Cross-Origin-Opener-Policy",
           "Cross-Origin-Resource-Policy", "Permissions-Policy")


def endpoints(app: Flask) -> list[str]:
    return sorted({rule.endpoint for rule in app.url_map.iter_rules()})


def test_only_the_listed_routes_are_public(app: Flask) -> None:
    assert {name for name in endpoints(app) if needs(app.view_functions[name]) is None} == PUBLIC


def test_every_view_refuses_who_may_not(app: Flask, counter: PageClient, technician: PageClient, owner: PageClient,
                                        stranger: PageClient) -> None:
    """Three roles and nobody, over all routes: 403 exactly where the role lacks what the view needs."""
    clients = {Role.COUNTER: counter, Role.TECHNICIAN: technician, Role.OWNER: owner}
    adapter = app.url_map.bind("localhost")
    for rule in app.url_map.iter_rules():
        need = needs(app.view_functions[rule.endpoint])
        if need is None:
            continue
        values = {name: 999_999 if name.endswith("_id") and name != "held_id" else "none" for name in rule.arguments}
        path = adapter.build(rule.endpoint, values, method="GET" if "GET" in (rule.methods or ()) else "POST")
        ask = "GET" if "GET" in (rule.methods or ()) else "POST"
        for role, client in clients.items():
            token = client.token() if ask == "POST" else {}
            status = client.client.open(path, method=ask, data=token).status_code
            assert (status == 403) == (need not in ALLOWED[role]), (rule.endpoint, role, status)
        answer = stranger.client.open(path, method="GET") if ask == "GET" else stranger.client.open(path, method="POST")
        assert answer.status_code in (303, 302), (rule.endpoint, answer.status_code)


def test_every_answer_carries_the_headers(app: Flask, owner: PageClient, stranger: PageClient) -> None:
    paths = ("/", "/healthz", "/nowhere", "/people/sign-in", "/static/css/base.css")
    for client, path in itertools.product((owner, stranger), paths):
        answer = client.client.get(path)
        assert [name for name in HEADERS if name not in answer.headers] == [], path
        answer.close()


def test_a_post_without_page_token_changes_nothing(app: Flask, owner: PageClient) -> None:
    answer = owner.client.post("/shop", data={"name": "Stolen"})
    assert answer.status_code == 403 and "no token of a page that you opened" in answer.text
    assert "Stolen" not in owner.get("/shop").text


def test_roles_differ() -> None:
    assert ALLOWED[Role.OWNER] == frozenset(May)
    assert May.TEST not in ALLOWED[Role.COUNTER] and May.AUTHORISE not in ALLOWED[Role.TECHNICIAN]


@pytest.mark.parametrize("path", ["/.git/config", "/data/secret.key", "/static/../app/config.py", "/console", "/static/"])
def test_nothing_else_is_served(stranger: PageClient, path: str) -> None:
    assert stranger.client.get(path).status_code in (404, 405)


def test_a_changed_module_changes_every_static_address(tmp_path: Path) -> None:
    """Browsers keep them for a year, and a module asks for the next one under its own version."""
    static = Path(__file__).parents[1] / "static"
    for copy in ("same", "other"):
        shutil.copytree(static, tmp_path / copy)
    with (tmp_path / "other" / "js" / "say.mjs").open("a") as module:
        module.write("\n")
    assert edition(tmp_path / "same") == edition(static) != edition(tmp_path / "other")
