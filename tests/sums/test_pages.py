"""The pages of the sums: answers, refusals beside their field, keeping, and who may."""

from __future__ import annotations

import re
from urllib.parse import urlencode

from app.bench.sums.sections import SUMS
from tests.pages import Page, PageClient


def part(page: Page, place: str) -> str:
    """The words of one part of a sum's page."""
    found = [e for e in page.root.iter() if e.get("data-place") == place]
    return re.sub(r"\s+", " ", " ".join(found[0].itertext())).strip()


def test_index_leads_to_every_sum_and_each_answers_at_once(technician: PageClient) -> None:
    links = technician.get("/sums").links()
    for one in SUMS.values():
        assert f"/sums/{one.key}" in links
        page = technician.get(f"/sums/{one.key}")
        assert not page.title.startswith("Error") and part(page, "said") and "No answer" not in part(page, "said"), one.key


def test_values_in_the_address_are_answered_without_script(technician: PageClient) -> None:
    """Case b5 of the ngspice table: 325-0-325 V, 100 ohm a leg, 47 µF, 3 k, 60 Hz gives 397.79 V and 16.17 V of ripple."""
    typed = {"secondary_vrms": "325V", "source_ohm": "0k1", "reservoir_farad": "47 mfd", "load_ohm": "3000", "mains_hz": "60"}
    page = technician.get("/sums/reservoir?" + urlencode(typed))
    assert "397.8 V" in part(page, "worked") and "16.2 V" in part(page, "said")
    assert page.fields("/sums/reservoir")["reservoir_farad"] == "47 mfd"
