"""Where the way to the shop's certificate is shown: only while this process serves https by it."""

from __future__ import annotations

from flask import Flask

from app.kernel.tokens import SIGN_IN_COOKIE
from app.trust import tls
from tests.pages import PageClient

PAGES = ("/people", "/people/enrol", "/shop")


def test_the_set_up_of_a_device_is_linked_only_while_https_is_on(app: Flask, owner: PageClient) -> None:
    tls.prepare(app.config["DATA"], "127.0.0.1")
    assert not [path for path in PAGES if "/trust" in owner.get(path).links()]
    app.config["SECURE_COOKIES"] = True
    cookie = owner.client.get_cookie(SIGN_IN_COOKIE)
    assert cookie is not None
    owner.client.set_cookie(f"__Host-{SIGN_IN_COOKIE}", cookie.value)  # as it is called over https
    assert [path for path in PAGES if "/trust" in owner.get(path).links()] == list(PAGES)
    assert owner.get("/trust").status == 200


def test_https_that_somebody_else_signs_for_links_nothing(app: Flask, owner: PageClient) -> None:
    app.config["SECURE_COOKIES"] = True
    assert not [path for path in PAGES if "/trust" in owner.get(path).links()]
