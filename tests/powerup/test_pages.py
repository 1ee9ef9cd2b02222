"""A first power-up by its pages: one item at a time, the bias page, an abort that opens a finding, and the way on."""

from __future__ import annotations

import re

from flask import Flask

from app.db import transaction
from app.powerup import queries
from tests.pages import PageClient
from tests.powerup import make
from tests.powerup.make import Bench


def at_step(app: Flask, number: int) -> tuple[int, int]:
    """A run that has come to this step; the ids of its order and of the meter."""
    with app.app_context(), transaction():
        run = make.begun()
        bench = Bench(run)
        bench.to(number)
        return run.order_id, bench.meter.id


def test_a_run_is_begun_and_its_first_items_answered(app: Flask, technician: PageClient, counter: PageClient) -> None:
    with app.app_context(), transaction():
        number = make.order().id
    here = f"/orders/{number}/first-power-up"
    assert "No run is under way." in technician.get(here).words
    page = technician.post(f"{here}/begin", {"valve": "6L6GC", "marks": "V5, V6", "expected_w": "40"})
    assert "Choose where the bias comes from." in page.words and "Choose the rectifier." in page.words
    facts = {"valve": "6L6GC", "marks": "V5, V6", "biased": "fixed", "rectifier": "silicon", "heater_v": "6.3", "expected_w": "40"}
    assert "where the expected power comes from" in technician.post(f"{here}/begin", facts).words
    page = technician.post(f"{here}/begin", {**facts, "expected_source": "its schematic"})
    assert "step 0 of 0 to 15" in page.words and "Everything that is due is back" in page.words
    assert "Choose yes or no." in technician.post(f"{here}/steps/0", {"power_up_item": "count"}).words
    assert "Enter what you see instead." in technician.post(f"{here}/steps/0", {"power_up_item": "count", "seen": "no"}).words
    page = technician.post(f"{here}/steps/0", {"power_up_item": "count", "seen": "yes"})
    assert "No solder, strand or tool inside" in page.words
    page = technician.get(f"{here}/steps/4")
    assert "Step 0 comes first" in page.words and "Save the reading" not in page.words
    assert "First power-up" in counter.get(here).words
    counter.get(f"{here}/steps/0", status=403)


def test_readings_are_typed_with_their_band_in_sight(app: Flask, technician: PageClient) -> None:
    number, meter = at_step(app, 2)
    here = f"/orders/{number}/first-power-up/steps/2"
    page = technician.get(f"{here}?item=ht")
    assert "at least 50 kΩ" in page.words and "common practice, no source" in page.words
    page = technician.post(here, {"power_up_item": "ht", "typed": "", "instrument": str(meter)})
    assert "Enter what the instrument shows." in page.words
    page = technician.post(here, {"power_up_item": "plug", "typed": "14", "instrument": str(meter), "lower": "10"})
    assert "Enter where these limits come from." in page.words and 'value="14"' in page.response.get_data(as_text=True)
    page = technician.post(here, {"power_up_item": "plug", "typed": "14", "instrument": str(meter)})
    assert "not judged" in page.words
    page = technician.post(here, {"power_up_item": "ht", "typed": "12k", "instrument": str(meter)})
    assert "Abort the step" in page.words and "Nothing is tried once more without one." in page.words


def test_power_beside_1_khz_is_asked_after_it_and_said_in_decibels(app: Flask, technician: PageClient) -> None:
    number, meter = at_step(app, 10)
    here = f"/orders/{number}/first-power-up/steps/10"
    for key, typed in (("load", "7.95"), ("power", "18.2")):
        page = technician.post(here, {"power_up_item": key, "typed": typed, "instrument": str(meter)})
    assert "Across the load at the onset of clipping, 80 Hz" in page.words
    assert "Nothing is expected: it is kept beside" in page.words
    page = technician.post(here, {"power_up_item": "power-80", "typed": "16.9", "instrument": str(meter)})
    assert "kept, 35.9 W" in page.words and "−0.6 dB against 41.7 W" in page.words, page.words
    assert "clipping, 5 kHz" in page.words, "the next of the two is asked"
    page = technician.get(f"{here}?item=power-80")
    assert "16.9 V" in page.words and "not judged" in page.words and "80 Hz: go" not in page.words
    page = technician.post(here, {"power_up_item": "power-5k", "typed": "17.8", "instrument": str(meter), "lower": "17"})
    assert "Enter where these limits come from." in page.words
    page = technician.post(here, {"power_up_item": "power-5k", "typed": "17.8", "instrument": str(meter), "lower": "17",
                                  "source": "its papers"})
    assert "5 kHz: go." in page.words


def test_the_bias_page_calculates_without_script_and_as_an_answer(app: Flask, technician: PageClient) -> None:
    number, meter = at_step(app, 7)
    here = f"/orders/{number}/first-power-up"
    technician.post(f"{here}/steps/7", {"power_up_item": "cold", "seen": "yes"})
    typed = {"anode": "448", "screen": "442", "grid": "-52", "current_V5": "36m", "current_V6": "92m", "screen_V5": "2m",
             "screen_V6": "2m", "load_aa": "5k6", "cold_end": "-70", "hot_end": "-40", "volts": str(meter), "amperes": str(meter)}
    empty = technician.get(f"{here}/bias/7").response.get_data(as_text=True)
    assert re.search(r'id="bias-answer"[^>]*>\s*(?:\{#.*#\}\s*)?</div>', empty), "no box where nothing is answered"
    page = technician.post(f"{here}/bias/7", {**typed, "calculate": "yes"})
    assert "V6: " in page.words and "class AB" in page.words and "hot end" in page.words and "design-maximum" in page.words
    with app.app_context(), transaction():
        run = queries.run_of(number)
        assert run is not None and not queries.rounds_of(queries.where(run.id).run)
    answer = technician.client.get(f"{here}/bias/7/answer", query_string=typed).get_data(as_text=True)
    assert "Switch off" in answer and "<html" not in answer
    missing = technician.client.get(f"{here}/bias/7/answer", query_string={**typed, "current_V6": ""}).get_data(as_text=True)
    assert "Enter the cathode current of V6." in missing
    page = technician.post(f"{here}/bias/7", {**typed, "current_V6": ""})
    assert "Enter the cathode current of V6" in page.words and 'value="36m"' in page.response.get_data(as_text=True)


def test_a_planted_bias_fault_leads_to_its_finding_and_back(app: Flask, technician: PageClient) -> None:
    number, meter = at_step(app, 7)
    here = f"/orders/{number}/first-power-up"
    technician.post(f"{here}/steps/7", {"power_up_item": "cold", "seen": "yes"})
    typed = {"anode": "448", "screen": "442", "current_V5": "36m", "current_V6": "92m", "volts": str(meter), "amperes": str(meter)}
    page = technician.post(f"{here}/bias/7", typed)
    assert "Abort the step" in page.words
    page = technician.get(f"{here}/steps/7/abort")
    filled = page.fields(f"{here}/steps/7/abort")
    assert "V6 92 mA" in filled["observation"] and (filled["place"], filled["area"]) == ("V6", "bias")
    assert "Switch the amp off" in technician.send(f"{here}/steps/7/abort", filled).words
    page = technician.send(f"{here}/steps/7/abort", {**technician.get(f"{here}/steps/7/abort").fields(f"{here}/steps/7/abort"),
                                                            "off": "y"})
    assert "/findings/" in page.response.request.path
    assert "Nothing follows until finding 1 is decided" in technician.get(here).words
    with app.app_context(), transaction():
        run = queries.run_of(number)
        assert run is not None
        make.decided(run)
    assert "Resume the run" in technician.get(here).words
    page = technician.post(f"{here}/resume", {"hypothesis": "pin 5 of V6 was dry: -54 V there now", "hands": "yes"})
    assert "step 0 of 0 to 15" in page.words
    assert "Resumed from step 0" in technician.get(here).words


def test_mains_trials_stop_and_the_owners_word(app: Flask, technician: PageClient, owner: PageClient) -> None:
    number, _ = at_step(app, 12)
    here = f"/orders/{number}/first-power-up"
    page = technician.post(f"{here}/mains", {"heaters": "4x 12AX7, 2x 6L6GC", "heater_winding_a": "4", "rectifier": "bridge",
                                             "ht_vrms": "340", "source_ohm": "110", "reservoir_farad": "50u", "ht_a": "180m"})
    assert "3.00 A, 18.9 VA, 75 % of the winding" in page.words and "Fuse proposed" in page.words
    assert "the name of a valve" in technician.post(f"{here}/mains", {"heaters": "2x EL99", "rectifier": "bridge"}).words
    page = technician.post(f"{here}/trials", {"kind": "cold start", "trials": "3", "shown": "0"})
    assert "not reproduced in 3 trials: it may still come in up to 63 % of them" in page.words and "Hanley" in page.words
    assert "earth and insulation passed" in technician.get(f"{here}/steps/12").words
    page = technician.send(f"{here}/off", technician.get(here).fields(f"{here}/off"))
    assert "Recorded as off and unplugged." in page.words
    page = technician.post(f"{here}/stop", {"reason": "the customer collects it unrepaired"})
    assert "Stopped" in page.words
    technician.get(f"{here}/without", status=403)
    page = owner.post(f"{here}/without", {"reason": "Returned as it came; nothing inside was changed."})
    assert "Leaves without a finished run" in page.words
    assert "sixteen steps" in technician.get(f"/orders/{number}").words


def test_a_closed_tablet_finds_the_run_where_it_was(app: Flask, technician: PageClient) -> None:
    number, _ = at_step(app, 5)
    assert "Step 5: Full mains, no output valves." in technician.get(f"/orders/{number}/first-power-up").words
