"""The pages of the sums: answers, refusals beside their field, keeping, and who may."""

from __future__ import annotations

import re
from urllib.parse import urlencode

import pytest
import sqlalchemy as sa
from flask import Flask

from app.bench.sums import queries
from app.bench.sums.sections import SUMS
from app.db import session, transaction
from app.journal.models import JournalEntry
from app.orders.stages import End
from app.shop import queries as shop_queries
from app.shop.wording import Pack
from tests import factories
from tests.pages import Page, PageClient

SVG = "{http://www.w3.org/2000/svg}svg"


def part(page: Page, place: str) -> str:
    """The words of one part of a sum's page."""
    found = [e for e in page.root.iter() if e.get("data-place") == place]
    return re.sub(r"\s+", " ", " ".join(found[0].itertext())).strip()


def beside(page: Page, field: str) -> str:
    """The refusal that stands at a field."""
    found = page.all("p", id=f"{field}-error")
    return re.sub(r"\s+", " ", " ".join(found[0].itertext())).strip() if found else ""


def test_index_leads_to_every_sum_and_each_answers_at_once(technician: PageClient) -> None:
    """Every page has its sentence, and every picture on it a sentence for whoever cannot see it."""
    links = technician.get("/sums").links()
    pictures = 0
    for one in SUMS.values():
        assert f"/sums/{one.key}" in links
        page = technician.get(f"/sums/{one.key}")
        assert not page.title.startswith("Error") and part(page, "said") and "No answer" not in part(page, "said"), one.key
        drawn = [svg for figure in page.all("figure") for svg in figure.iter(SVG)]
        assert all(svg.get("role") == "img" and (svg.get("aria-label") or "").endswith(".") for svg in drawn), one.key
        pictures += len(drawn)
    assert pictures >= 12


def test_values_in_the_address_are_answered_without_script(technician: PageClient) -> None:
    """Case b5 of the ngspice table: 325-0-325 V, 100 ohm a leg, 47 µF, 3 k, 60 Hz gives 397.79 V and 16.17 V of ripple."""
    typed = {"secondary_vrms": "325V", "source_ohm": "0k1", "reservoir_farad": "47 mfd", "load_ohm": "3000", "mains_hz": "60"}
    page = technician.get("/sums/reservoir?" + urlencode(typed))
    assert "397.8 V" in part(page, "worked") and "16.2 V" in part(page, "said")
    assert page.fields("/sums/reservoir")["reservoir_farad"] == "47 mfd"


REFUSED = [
    ({"load_ohm": "4k7k"}, "load_ohm", "“4k7▸k” cannot be read"),
    ({"load_ohm": "47u"}, "load_ohm", "cannot be read"),
    ({"secondary_vrms": ""}, "secondary_vrms", "Enter this: Winding, off load."),
    ({"source_ohm": "0"}, "source_ohm", "This must be from 0.01 to 1M Ω."),
    ({"secondary_vrms": "-325"}, "secondary_vrms", "This must be from 1 to 10000 V."),
    ({"reservoir_farad": "0"}, "reservoir_farad", "This must be from 1p to 1000 F."),
]


def test_a_value_that_cannot_be_used_is_refused_beside_its_field(technician: PageClient) -> None:
    for typed, field, words in REFUSED:
        page = technician.get("/sums/reservoir?" + urlencode(typed))
        assert page.title.startswith("Error:") and words in beside(page, field), (typed, beside(page, field))
        assert f"#{field}" in page.links() and "No answer yet" in part(page, "said")
        assert page.all("input", id=field)[0].get("value") == typed[field]


def test_refusals_name_other_fields_by_their_label(technician: PageClient) -> None:
    page = technician.get("/sums/damping?" + urlencode({"open_v": "2", "loaded_v": "3"}))
    assert "This must be below “Without the load” (2 V)." in beside(page, "loaded_v")
    page = technician.get("/sums/colour-bands?" + urlencode({"many": "4", "band_4": "black"}))
    assert "a colour that means a tolerance" in beside(page, "band_4")
    page = technician.get("/sums/bias?" + urlencode({"tolerance": "80"}))
    assert "This must be from 0 to 50 %." in beside(page, "tolerance")


def test_the_piece_for_script_holds_the_same_answer(technician: PageClient) -> None:
    page = technician.get("/sums/idle?valve=EL34&cathode_a=52m")
    piece = technician.client.get("/sums/idle/answer?valve=EL34&cathode_a=52m").get_data(as_text=True)
    assert part(page, "said") in re.sub(r"\s+", " ", re.sub(r"<[^>]*>", "", piece))
    wrong = technician.client.get("/sums/idle/answer?cathode_a=x").get_data(as_text=True)
    assert 'data-field="cathode_a"' in wrong and "<html" not in wrong


def test_a_kept_sum_holds_its_values_as_data_and_is_in_the_journal(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = factories.order().id
    shown = "/sums/idle?" + urlencode({"cathode_a": "40mA", "anode_v": "448"})
    page = technician.post("/sums/idle/keep", {"order_id": str(order_id), "note": "V5, as left"}, form_on=shown)
    assert "Kept, with its values." in page.words and page.fields("/sums/idle")["anode_v"] == "448"
    with app.app_context():
        (kept,) = queries.kept()
        assert kept.given["cathode_a"] == {"typed": "40mA", "si": 0.04, "unit": "A"} and kept.given["screen_a"]["si"] is None
        assert {"key": "anode_a", "label": "Anode current", "value": pytest.approx(0.0382, rel=0.02), "unit": "A"} in (
            kept.results["figures"])
        assert (kept.order_id, kept.kept_by, kept.note) == (order_id, "Ines", "V5, as left")
        told = session().scalar(sa.select(JournalEntry).where(JournalEntry.event == "sum:kept"))
        assert told is not None and told.order_id == order_id and "40mA" in told.after
    assert "V5, as left" in technician.get("/sums/kept").words
    sheet = technician.get(f"/orders/{order_id}")
    assert "V5, as left" in sheet.words and any(link.startswith("/sums/idle?") for link in sheet.links())
    assert "None kept for this order." in technician.get("/sums/kept?order=999").words


def test_a_sum_without_an_answer_is_not_kept(app: Flask, technician: PageClient) -> None:
    page = technician.post("/sums/idle/keep", {"cathode_a": "many"}, form_on="/sums/idle")
    assert beside(page, "cathode_a")
    with app.app_context():
        assert queries.count() == 0


def test_an_ended_order_takes_no_more_sums(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        order_id = order.id
        order.ended_as, order.ended_at = End.UNREPAIRED, factories.NOW
    page = technician.post("/sums/idle/keep", {"order_id": str(order_id)}, form_on="/sums/idle")
    assert page.title.startswith("Error:")
    with app.app_context():
        assert queries.count() == 0


def test_kept_sums_open_again_with_their_values(technician: PageClient) -> None:
    technician.post("/sums/drift/keep", {}, form_on="/sums/drift?measured=23k1&mine=yes")
    again = next(link for link in technician.get("/sums/kept").links() if link.startswith("/sums/drift?"))
    page = technician.get(again)
    assert page.fields("/sums/drift")["measured"] == "23k1" and "5 % high" in part(page, "said")


def test_words_follow_the_shops_pack(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        shop_queries.the_shop().wording = Pack.TUBE
    page = technician.get("/sums/idle")
    said = page.words.replace("Lowgate Valve Repairs", "")
    assert "Plate to ground" in said and not re.search(r"\b(valve|anode|earth)\b", said, re.IGNORECASE)
    labels = [svg.get("aria-label", "") for svg in page.root.iter(SVG)]
    assert not [label for label in labels if "anode" in label]


def test_the_name_of_a_cited_sheet_is_not_said_in_other_words(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        shop_queries.the_shop().wording = Pack.TUBE
    page = technician.get("/sums/idle?valve=KT88")
    cited = [re.sub(r"\s+", " ", " ".join(one.itertext())) for one in page.all("ol", class_="cited")]
    assert cited and "M-O Valve data sheet" in cited[0], cited


def test_counter_has_no_sums_in_its_bar(counter: PageClient, owner: PageClient) -> None:
    assert "/sums" not in counter.get("/").links() and "/sums" in owner.get("/").links()
    counter.get("/sums", status=403)
    owner.get("/sums/alchemy", status=404)
