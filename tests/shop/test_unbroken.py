"""No line ends between a number and its unit. (SI Brochure, 9th edition, 5.4.3: a space stands between them; that it does
not break is common practice, no source.)"""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from flask import Flask

from app import template_globals
from app.kernel.unbroken import unbroken


@pytest.mark.parametrize(("text", "kept"), [
    ("C12, 47 µF, 450 V", "C12, 47~µF, 450~V"), ("421 … 455 V at 20 °C", "421 … 455~V at 20~°C"), ("12 Mar 2026", "12~Mar~2026"),
    ("checked on 25 November 2026.", "checked on 25~November~2026."), ("due AUD 85.00, paid", "due AUD~85.00, paid"),
    ("0.5 % + 3 × 100 mV", "0.5~% + 3 × 100~mV"), ("2 valves, 3 Ants, pin 4 A1", "2 valves, 3 Ants, pin 4 A1"),
    ("V1 and V2 have 3 ends", "V1 and V2 have 3 ends"), ("lead of 3 m and 1.5 mm², 2 more", "lead of 3~m and 1.5~mm², 2 more"),
    ("repair 1012, revision 2 of it", "repair~1012, revision~2 of it"), ("", "")])
def test_a_line_does_not_end_inside_a_quantity_a_day_or_a_sum(text: str, kept: str) -> None:
    assert unbroken(text) == kept.replace("~", "\u00a0")
    assert unbroken(text).replace("\u00a0", " ") == text


def test_pages_show_days_and_sums_that_do_not_break(context: Flask) -> None:
    assert template_globals.show_day(date(2026, 3, 12)) == "12\u00a0Mar\u00a02026"
    assert template_globals.show_moment(datetime(2026, 3, 2, 1, 5,
                                                 tzinfo=UTC)) == "2\u00a0Mar\u00a02026, 12:05"  # Sydney is at UTC+11 then
    assert template_globals.show_money(8500) == "AUD\u00a085.00" and template_globals.trade("47 µF") == "47\u00a0µF"
