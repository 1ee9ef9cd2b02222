"""The page of answers and the box: what each role finds, what is said of it, and how the amp stands now."""

from __future__ import annotations

import pytest
from flask import Flask

from app.db import session, transaction
from app.intake.service import danger
from app.orders.models import RepairOrder
from app.removals.models import Removal
from tests.factories import NOW
from tests.pages import HTML, PageClient
from tests.people import BY
from tests.search.test_index import full, listed


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        order = full()
        listed("C-22N", "Coupling capacitor, film")
        return order.id


def groups(client: PageClient, typed: str) -> dict[str, list[str]]:
    """Heading → the words of each answer, on the page."""
    page = client.get(f"/search?q={typed}")
    return {" ".join(section.find(f".//{HTML}h2").itertext()): [" ".join("".join(link.itertext()).split())
                                                                for link in section.iter(f"{HTML}a")]
            for section in page.all("section", class_="search-group")}


def test_everything_is_found_by_kind_with_what_matched_and_how_the_order_stands(owner: PageClient, order_id: int) -> None:
    found = groups(owner, "wren")
    assert list(found) == ["Repairs", "Customers", "Papers"]
    assert found["Repairs"] == ["1001 · Tarnholt Meridian 30 Intake left by: Wren Adler"]
    assert found["Papers"] == ["Receipt, revision 1 Repair 1001: Intake left by: Wren Adler"]
    assert groups(owner, "crackles")["Repairs"][0].endswith("complaint: Hums and crackles when it is warm")
    assert list(groups(owner, "coupling")) == ["Parts of repairs", "Suppliers’ lists"]


def test_every_answer_leads_to_its_page(owner: PageClient, order_id: int) -> None:
    links = [link for typed in ("wren", "m30", "coupling", "1001") for link in owner.get(f"/search?q={typed}").links()
             if link.startswith(("/orders/", "/customers/", "/amps/", "/listed-parts/"))]
    assert len(links) >= 7
    for link in links:
        owner.get(link)


def test_who_may_not_order_parts_does_not_find_suppliers_lists(app: Flask, owner: PageClient, technician: PageClient, order_id: int,
                                                               monkeypatch: pytest.MonkeyPatch) -> None:
    """Every role of today may; so a role is made that may not."""
    from app.access.rules import ALLOWED, May, Role

    assert "Suppliers’ lists" in groups(technician, "c22n")
    monkeypatch.setitem(ALLOWED, Role.TECHNICIAN, ALLOWED[Role.TECHNICIAN] - {May.PARTS})
    assert groups(technician, "c22n") == {} and "Suppliers’ lists" in groups(owner, "c22n")
    assert "C-22N" not in technician.client.get("/search/box?q=c22n").get_data(as_text=True)


def test_a_stranger_is_asked_to_sign_in(stranger: PageClient, order_id: int) -> None:
    for path in ("/search?q=wren", "/search/box?q=wren"):
        assert stranger.client.get(path).status_code == 303


def test_do_not_energise_stands_with_every_answer_about_that_amp(app: Flask, counter: PageClient, order_id: int) -> None:
    with app.app_context(), transaction() as current:
        danger.impound(current.get_one(RepairOrder, order_id), "the mains lead is cut", by=BY, now=NOW)
    for typed, kinds in (("wren", ("Repairs", "Papers")), ("m300117", ("Repairs", "Amps")), ("coupling", ("Parts of repairs",))):
        found = groups(counter, typed)
        for kind in kinds:
            assert all("Do not energise: the mains lead is cut" in line for line in found[kind]), (typed, kind)


def test_the_state_is_that_of_now(app: Flask, counter: PageClient, order_id: int) -> None:
    with app.app_context(), transaction() as current:
        from app.orders.stages import Stage
        current.get_one(RepairOrder, order_id).stage = Stage.PARTS
    assert groups(counter, "1001")["Repairs"][0].startswith("1001 · Tarnholt Meridian 30 Parts")


@pytest.mark.parametrize(("typed", "found"), [("P1", True), ("p-1", True), ("1001 P1", True), ("1001 p 1", True), ("P2", False),
                                              ("1002 P1", False)])
def test_a_removed_part_is_found_by_its_tag(app: Flask, technician: PageClient, order_id: int, typed: str, found: bool) -> None:
    from app.removals.rules import Kind

    with app.app_context(), transaction():
        session().add(Removal(order_id=order_id, number=1, mark="P1", name="Mains transformer", kind=next(iter(Kind)),
                              stack=[], other_stacks=[], ends=[], removed_at=NOW, removed_by="Ines"))
    answers = groups(technician, typed).get("Removed parts", [])
    assert answers == (["Mains transformer P1 Repair 1001: Intake"] if found else [])


@pytest.mark.parametrize("typed", ["", "   ", "%25", "\"", "'; DROP TABLE amp; --", "* OR *", "(", "NEAR(", "\\", "a" * 5000,
                                   "ﷺ", "{{7*7}}", "<script>alert(1)</script>"])
def test_whatever_is_typed_gets_a_page(owner: PageClient, order_id: int, typed: str) -> None:
    answer = owner.client.get("/search", query_string={"q": typed})
    assert answer.status_code == 200 and "<script>alert" not in answer.get_data(as_text=True)
    part = owner.client.get("/search/box", query_string={"q": typed})
    assert part.status_code == 200 and "<script" not in part.get_data(as_text=True)


def test_the_box_stands_on_every_page_of_somebody_signed_in_and_works_without_script(owner: PageClient, stranger: PageClient,
                                                                                     order_id: int) -> None:
    for path in ("/", "/records", f"/orders/{order_id}", "/shop"):
        page = owner.get(path)
        form = page.form("/search")
        assert form.get("method") == "get" and page.all("input", id="search-q")
    assert not stranger.get("/people/sign-in").all("input", id="search-q")
    assert len(owner.get("/search").all("input", id="search-q")) == 1


def test_the_part_for_the_box_says_how_many(owner: PageClient, order_id: int) -> None:
    said = owner.client.get("/search/box?q=wren").get_data(as_text=True)
    assert 'data-said="3 shown."' in said
    assert 'data-said="Nothing is found by that."' in owner.client.get("/search/box?q=zzyzx").get_data(as_text=True)


def test_more_than_fit_are_told(app: Flask, owner: PageClient) -> None:
    from tests import factories

    with app.app_context(), transaction():
        for at in range(7):
            factories.customer(f"Wren Number {at}")
    said = owner.client.get("/search/box?q=wren").get_data(as_text=True)
    assert 'data-said="5 shown, and there are more.' in said and "press Enter" in said
    assert "There are more" not in owner.get("/search?q=wren").text


def test_a_listed_part_shows_its_prices_newest_first(app: Flask, owner: PageClient, order_id: int) -> None:
    with app.app_context(), transaction():
        newer = listed("C-22N", "Coupling capacitor, film")
        newer.price_minor = 310
        part_id = newer.id
    words = owner.get(f"/listed-parts/{part_id}").words
    assert words.index("AUD 3.10") < words.index("AUD 2.50")
    owner.get("/listed-parts/999", status=404)
