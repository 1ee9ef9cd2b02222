"""A passkey in a real browser, by the virtual device of its developer tools (the WebAuthn domain of Chromium's protocol)."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from flask import Flask
from playwright.sync_api import Browser, Page, expect

from tests.people import PASSWORD, Cast
from tests.served import ready
from tests.served import tablet as touch_device

pytestmark = pytest.mark.browser


@pytest.fixture
def engine_name() -> str:
    return "sqlite"


@pytest.fixture
def door(browser: Browser, address: str, cast: Cast) -> Iterator[Page]:
    """The shop by its host name: at an address of numbers no browser uses a passkey."""
    context = touch_device(browser, address.replace("127.0.0.1", "localhost"))
    complaints: list[str] = []
    page = context.new_page()
    page.on("console", lambda said: complaints.append(said.text) if said.type in ("error", "warning") else None)
    page.on("pageerror", lambda wrong: complaints.append(str(wrong)))
    yield page
    context.close()
    assert complaints == []


def test_it_is_added_signs_in_and_is_not_the_password(door: Page, app: Flask) -> None:
    tools = door.context.new_cdp_session(door)
    tools.send("WebAuthn.enable")
    key = tools.send("WebAuthn.addVirtualAuthenticator", {"options": {
        "protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True, "isUserVerified": True,
        "automaticPresenceSimulation": True}})["authenticatorId"]
    door.goto("/people/sign-in")
    expect(door.get_by_role("button", name="Use a passkey")).to_have_count(0)
    door.get_by_label("Name").fill("Ines")
    door.get_by_label("Password").fill(PASSWORD)
    door.get_by_role("button", name="Sign in").tap()
    door.wait_for_url(re.compile(r"/$"))
    door.goto("/people/me")
    door.get_by_role("link", name="Add a passkey").tap()
    expect(door).to_have_title(re.compile("Add a passkey"))
    ready(door)
    door.get_by_label("Name of the device").fill("bench phone")
    door.get_by_role("button", name="Add a passkey").tap()
    expect(door.get_by_role("cell", name="bench phone", exact=True)).to_be_visible()
    assert len(tools.send("WebAuthn.getCredentials", {"authenticatorId": key})["credentials"]) == 1

    door.get_by_role("button", name="Switch").tap()
    expect(door).to_have_title(re.compile("Sign in"))
    ready(door)
    tools.send("WebAuthn.setUserVerified", {"authenticatorId": key, "isUserVerified": False})
    door.get_by_role("button", name="Use a passkey").tap()
    expect(door.locator("[data-said]")).to_contain_text("cancelled")
    tools.send("WebAuthn.setUserVerified", {"authenticatorId": key, "isUserVerified": True})
    door.get_by_role("button", name="Use a passkey").tap()
    expect(door.get_by_role("button", name="Switch")).to_have_count(1)
    door.goto("/people/me")
    expect(door.get_by_role("main")).to_contain_text("Ines, technician")
