"""Nobody's save silently wins: every form that was opened on a version of a record is refused once somebody else saved it.

The forms are found by walking the filled shop; a view that no longer compares is seen, and a form that no longer carries a version
is missed.
"""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree as Xml

import pytest

from app.access.rules import Role
from tests.hostile import Walk
from tests.pages import HTML, PageClient, values
from tests.whole_shop import WholeShop, opened, somebody

LEAST = 12  # views met whose form carries the version of a stored record; with a new one this may grow

NOT_STORED = (None, "", "0")  # the first save of a sheet has nothing to compare with


def filled_in(form: Xml.Element) -> dict[str, Any]:
    """What the form would send, with the first choice made and something typed wherever it is still empty."""
    sent = values(form)
    for element in form.iter(HTML + "input"):
        name, kind = element.get("name", ""), element.get("type", "text")
        if kind in ("radio", "checkbox") and name not in sent:
            sent[name] = element.get("value", "on")
        elif kind == "date" and not sent.get(name):
            sent[name] = "2008-06-01"
        elif kind in ("text", "number") and not sent.get(name):
            sent[name] = "1"
    return {name: value or "as it was" for name, value in sent.items()}


@pytest.fixture(scope="module")
def answers(whole_shop: WholeShop, tmp_path_factory: pytest.TempPathFactory) -> dict[str, int]:
    """Each form that carries a version, sent with another one than stands: what was answered, by view."""
    data = whole_shop.copied(tmp_path_factory.mktemp("stale") / "shop")
    with opened(data) as app:
        owner = PageClient(app).sign_in(somebody(app, Role.OWNER))
        walk = Walk(app, owner.client, of_each=6, escaping=False)
        walk.everywhere()
        carrying = {view: form for view, (_, form) in sorted(walk.forms.items()) if values(form).get("version") not in NOT_STORED}
        return {view: sent(owner, form) for view, form in carrying.items()}


def sent(client: PageClient, form: Xml.Element) -> int:
    """As it stands, and if that was not enough, filled in."""
    for fields in (values(form), filled_in(form)):
        status = client.client.post(form.get("action", ""), data={**fields, "version": "999"}).status_code
        if status != 200:
            break
    return status


def test_a_page_opened_before_somebody_else_saved_is_refused(answers: dict[str, int]) -> None:
    assert {view: status for view, status in answers.items() if status != 409} == {}
    assert len(answers) >= LEAST and {"profiles.confirm", "intake.amp"} <= answers.keys()
