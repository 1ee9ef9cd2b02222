"""The page's own policy (CSP Level 3, Trusted Types, cookie prefixes) holds on the main pages and breaks none of them."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from playwright.sync_api import Browser, BrowserContext

from app.access.rules import Role
from app.config import Config
from app.factory import work_on
from tests.pages import Page, PageClient
from tests.people import PASSWORD, Cast
from tests.served import ready, served, sign_in, tablet
from tests.whole_shop import WholeShop, opened, somebody

WATCH = """
window.zqViolations = [];
document.addEventListener("securitypolicyviolation", (event) => window.zqViolations.push(
  `${event.violatedDirective} ${event.blockedURI} ${event.sourceFile}:${event.lineNumber} ${event.sample}`));
"""
PATHS = (
    "/", "/orders/1", "/orders/6", "/orders/6/findings/new", "/orders/6/removals/new", "/orders/6/photos", "/orders/6/safety",
    "/orders/6/reassembly", "/orders/1/papers/receipt", "/orders/1/history", "/sums", "/sums/bias", "/search?q=6L6", "/records",
    "/check-in", "/shop", "/people", "/people/me", "/instruments", "/safety-profiles", "/glossary", "/nothing/here")


@pytest.fixture(scope="module")
def complaints(whole_shop: WholeShop, browser: Browser,
               tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[str]]:
    """What each page complained of, once its modules were at work and had been used."""
    data, found = whole_shop.copied(tmp_path_factory.mktemp("policy") / "shop"), {}
    with opened(data) as app, served(app) as address:
        context = tablet(browser, address)
        context.add_init_script(WATCH)
        sign_in(context, app, address, somebody(app, Role.OWNER).id)
        for path in PATHS:
            found[path] = walked(context, path)
        context.close()
    return found


def walked(context: BrowserContext, path: str) -> list[str]:
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda one: said.append(one.text) if re.search("Content Security Policy|Trusted", one.text) else None)
    page.on("pageerror", lambda wrong: said.append(str(wrong)))
    page.goto(path)
    ready(page)
    if path == "/":
        page.fill("#search-q", "6L6")
        page.wait_for_selector(".search-list:not([hidden])")
    if path.startswith("/sums/"):
        page.locator("#given input[type=text]").first.fill("123")
        page.wait_for_selector("#given[data-answered]", state="attached")
    said += page.evaluate("window.zqViolations")
    page.close()
    return said


def test_no_main_page_breaks_its_policy(complaints: dict[str, list[str]]) -> None:
    assert {path: said for path, said in complaints.items() if said} == {}
    print(f"\n0 violations on {len(complaints)} pages")


def test_every_page_has_a_nonce_of_its_own_and_the_modules_make_no_markup(app: Flask, owner: PageClient) -> None:
    """CSP Level 3, 7.1: nonces are unique to each response, 128 bits or more. Trusted Types: the sinks of the W3C draft."""
    seen = set()
    for _ in range(50):
        page = owner.get("/")
        policy = page.response.headers["Content-Security-Policy"]
        nonce = re.search(r"script-src 'self' 'nonce-([\w-]{22,})' 'strict-dynamic'", policy)
        assert nonce and [one.get("nonce") for one in page.all("script")] == [nonce.group(1)]
        assert "require-trusted-types-for 'script'; trusted-types 'none'" in policy
        seen.add(nonce.group(1))
    assert len(seen) == 50
    assert "script-src 'none'" in owner.client.get("/healthz").headers["Content-Security-Policy"]
    sinks = re.compile(r"innerHTML|outerHTML|insertAdjacentHTML|parseFromString|document\.write|createContextualFragment|srcdoc|"
                       r"\beval\(|new Function")
    modules = (Path(__file__).parents[2] / "static/js").glob("*.mjs")
    assert [path.name for path in modules if sinks.search(path.read_text())] == []


def test_over_https_every_cookie_has_the_prefix_that_binds_it_to_its_host(app: Flask, cast: Cast) -> None:
    """RFC 6265bis 4.1.3.2: Secure, Path=/, no Domain; ASVS 5.0 3.3.1, 3.3.3, 3.3.4."""
    work_on(app, replace(Config(app.config["DATA"], str(app.extensions["tagstrip_db"].engine.url.render_as_string(False)),
                                (app.config["DATA"] / "photos").as_uri(), app.config["SECRET_KEY"]), secure_cookies=True))
    client = app.test_client()
    asked: dict[str, Any] = {"base_url": "https://localhost"}
    page = Page(client.get("/people/sign-in", **asked))
    laid = page.response.headers.getlist("Set-Cookie")
    answer = client.post("/people/sign-in", data={**page.fields(), "name": "Mara", "password": PASSWORD}, **asked)
    assert answer.status_code == 303
    laid += answer.headers.getlist("Set-Cookie")
    page = Page(client.get("/", **asked))
    laid += client.post("/theme", data={"page_token": page.fields("/theme")["page_token"], "theme": "dark"},
                        **asked).headers.getlist("Set-Cookie")
    assert 'data-theme="dark"' in client.get("/", **asked).text
    out = client.post("/people/switch", data=page.fields("/people/switch"), **asked).headers.getlist("Set-Cookie")
    assert any("__Host-tagstrip_sign_in=;" in one for one in out)
    for one in laid + out:
        assert one.startswith("__Host-") and "Secure" in one and "HttpOnly" in one and "Path=/" in one and "SameSite=" in one, one
        assert "Domain" not in one
    assert len(laid) >= 3 and client.get("/", **asked).status_code == 303
    app.extensions["tagstrip_db"].close()
