"""Anode and screen currents against the points that makers published.

Each row names its standing: S seen in the source named, M from memory of it. A row from memory is to be ticked
against a scan before anyone relies on it.
"""

from __future__ import annotations

import pytest

from app.electrics import cathode_bias, pentode_currents, push_pull, push_pull_fed, triode_current, valve, valve_names
from app.electrics.valves.fit import fit_error
from app.electrics.valves.koren import triode_point
from tests.reference.fit_valve_models import fit_pentode, fit_triode, vars_of

ANODE_SHARE = 0.10
SCREEN_SHARE = 0.20

TRIODES = [  # valve, anode V, grid V, mA, mark, source
    ("12AX7", 250, -2, 1.2, "S", "Wikipedia box citing Sylvania"),
    ("12AX7", 100, -1, 0.5, "M", "RCA"),
    ("12AT7", 250, -2, 10, "M", "General Electric"),
    ("12AU7", 250, -8.5, 10.5, "M", "RCA"),
    ("12AY7", 250, -4, 3.0, "M", "General Electric"),
    ("6SN7GT", 250, -8, 9, "S", "Wikipedia, Russian edition"),
    ("6SL7GT", 250, -2, 2.3, "M", "RCA"),
    ("12AT7", 100, -1, 3.7, "M", "General Electric, 270 ohm in the cathode"),
    ("12AU7", 100, 0, 11.8, "M", "RCA"),
    ("6SN7GT", 90, 0, 10, "M", "RCA"),
    ("12BH7A", 250, -10.5, 11.5, "M", "General Electric"),
    ("5751", 250, -3, 1.1, "M", "General Electric"),
    ("5751", 100, -1, 0.8, "M", "General Electric"),
    ("ECC88", 90, -1.3, 15, "M", "Philips"),
    ("6SC7", 250, -2, 2.0, "M", "RCA"),
    ("6EU7", 250, -2, 1.2, "M", "General Electric: as the 12AX7"),
    ("12DW7", 250, -2, 1.2, "M", "as the 12AX7"),
    ("12DW7 low-mu", 250, -8.5, 10.5, "M", "as the 12AU7"),
    ("ECL82 triode", 100, 0, 3.5, "M", "Philips"),
    ("ECL86 triode", 250, -1.9, 1.2, "M", "Philips"),
    ("ECF80 triode", 100, -2, 14, "M", "Philips"),
    ("6U8 triode", 150, -1.008, 18, "M", "RCA, 56 ohm in the cathode"),
]

PENTODES = [  # valve, anode V, screen V, grid V, anode mA, screen mA or None, mark, source
    ("6L6GC", 450, 400, -37, 58, 2.8, "M", "General Electric ET-T1515; volts seen in Wikipedia"),
    ("6L6GC", 360, 270, -22.5, 44, 2.5, "M", "General Electric ET-T1515"),
    ("6L6GC", 350, 250, -18, 54, 2.5, "S", "Wikipedia; screen from memory"),
    ("6L6GC", 250, 250, -14, 72, 5, "M", "General Electric ET-T1515"),
    ("6L6", 360, 270, -22.5, 44, None, "S", "el34world quoting RCA"),
    ("6L6", 360, 270, -21.8, 44, None, "S", "el34world quoting RCA, 248 ohm in the cathode"),
    ("6V6GT", 250, 250, -12.5, 45, 4.5, "S", "public note quoting the TAD sheet"),
    ("6V6GT", 250, 250, -15, 35, 2.5, "M", "RCA"),
    ("6V6GT", 285, 285, -19, 35, 2, "M", "RCA"),
    ("EL34", 250, 250, -12.2, 100, 15, "M", "Philips"),
    ("EL34", 425, 425 - 8.8, -38, 30, 4.4, "M", "Philips, screens by a common 1 kohm"),
    ("EL34", 775, 400, -39, 25, 3, "S", "diyaudio 220486 quoting the sheet"),
    ("EL34", 352.5, 341.7, -22.5, 75, 11.5, "M", "Philips, 375 V supply, 130 ohm, screens by 470 ohm"),
    ("EL84", 250, 250, -7.3, 48, 5.5, "M", "Philips"),
    ("EL84", 289.6, 289.6, -10.4, 36, 4, "M", "Philips, 300 V supply, 130 ohm shared"),
    ("EL84", 241, 241, -8.97, 31, 3.5, "M", "Philips, 250 V supply, 130 ohm shared"),
    ("6550", 250, 250, -14, 140, 12, "M", "Tung-Sol"),
    ("6550", 400, 275, -23, 90, 4.5, "M", "Tung-Sol"),
    ("6550", 400, 225, -16.5, 87, None, "M", "Tung-Sol"),
    ("6550", 450, 310, -29, 75, None, "M", "General Electric, low confidence"),
    ("6550", 600, 300, -33, 57.5, None, "M", "Tung-Sol: 115 mA for two"),
    ("KT88", 250, 250, -15, 140, 3, "M", "M-O Valve"),
    ("KT88", 552, 300, -34, 60, None, "M", "M-O Valve: 560 V supply, 100 W from two"),
    ("KT66", 250, 250, -15, 85, 6.3, "S", "Wikipedia, citing the Radiotron valve manual; screen from memory"),
    ("KT66", 400, 400, -38, 57.5, 5, "S", "Wikipedia: 62.5 mA with the screen; its share from memory"),
    ("5881", 250, 250, -14, 75, 4.3, "M", "Tung-Sol"),
    ("6973", 250, 250, -15, 46, 3.5, "M", "RCA"),
    ("6973", 350, 280, -22, 29, 1.75, "M", "low confidence"),
    ("7591", 300, 300, -10, 60, 8, "M", "RCA"),
    ("7591", 450, 400, -21, 33, 4.7, "M", "low confidence"),
    ("7189", 250, 250, -7.3, 48, 5.5, "M", "Philips: as the EL84"),
    ("7027A", 250, 250, -14, 72, 5, "M", "RCA"),
    ("6AQ5", 250, 250, -12.5, 45, 4.5, "M", "RCA"),
    ("6AQ5", 180, 180, -8.5, 29, 3, "M", "RCA"),
    ("7868", 300, 300, -10, 60, 8, "M", "RCA: as the 7591"),
    ("6F6", 250, 250, -16.5, 34, 6.5, "M", "RCA"),
    ("6F6", 285, 285, -20, 38, 7, "M", "RCA"),
    ("6K6", 100, 100, -7, 9, 1.6, "M", "RCA"),
    ("6K6", 250, 250, -18, 32, 5.5, "M", "RCA"),
    ("6K6", 315, 250, -21, 25.5, 4, "M", "RCA"),
    ("ECL82", 170, 170, -11.5, 41, 8, "M", "Philips"),
    ("ECL82", 200, 200, -16, 35, 7, "M", "Philips"),
    ("ECL86", 250, 250, -7, 36, 6, "M", "Philips; 36 mA seen in Mullard's announcement"),
]

CATHODE_BIASED = [  # valve, supply V, screen supply V, shared ohm, anode mA each, screen mA each, mark, source
    ("EL84", 300, 300, 130, 36, 4, "M", "Philips; 300 V seen"),
    ("EL84", 250, 250, 130, 31, 3.5, "M", "Philips"),
    ("EL34", 375, 375 - 470 * 0.023, 130, 75, 11.5, "M", "Philips"),
    ("6L6", 360, 270, 248, 44, 0, "S", "el34world quoting RCA; 88 mA x 248 ohm is its own -21.8 V"),
]

PUSH_PULL = [  # valve, supply, screen, bias V, load ohm, W, driven anode mA, driven screen mA, mark, source
    ("6L6GC", 450, 400, -37, 5600, 55, 210, 22, "S", "Wikipedia: volts, load, power; currents from memory"),
    ("6L6GC", 360, 270, -22.5, 6600, 26.5, 132, 15, "M", "General Electric ET-T1515"),
    ("6L6", 360, 270, -22.5, 3800, 18, 140, None, "S", "el34world quoting RCA"),
    ("6V6GT", 250, 250, -15, 10000, 10, 79, 13, "M", "RCA"),
    ("6V6GT", 285, 285, -19, 8000, 14, 92, 13.5, "M", "RCA"),
    ("EL34", 425, 375, -38, 3400, 55, 240, None, "M", "Philips; screens by 1 kohm at 50 mA driven"),
    ("EL34", 775, 400, -39, 11000, 100, 182, 38, "S", "diyaudio 220486 quoting the sheet"),
    ("6550", 400, 275, -23, 3500, 55, 270, 44, "M", "Tung-Sol"),
    ("6550", 600, 300, -33, 5000, 100, 270, None, "M", "Tung-Sol"),
    ("6550", 450, 310, -29, 3500, 77, 295, None, "M", "General Electric, low confidence"),
    ("KT88", 552, 300, -34, 4500, 100, 290, None, "M", "M-O Valve"),
    ("6973", 350, 280, -22, 7500, 20, 106, 14, "M", "low confidence"),
    ("7591", 450, 400, -21, 6600, 45, 144, None, "M", "low confidence"),
]

FED = [  # valve, HT, screens' HT, screen ohm, cathode ohm or None, bias V or None, load, W, anode mA each, mark, source
    ("EL84", 300, 300, 0, 130, None, 8000, 17, 46, "S", "Wikipedia, Russian edition: 300 V, 8 k, 17 W; currents from memory"),
    ("EL84", 250, 250, 0, 130, None, 8000, 11, 37.5, "S", "Wikipedia, Russian edition: 11 W; the rest from memory of Philips"),
    ("EL34", 375, 375, 470, 130, None, 3400, 35, 95, "M", "Philips data handbook"),
    ("EL34", 425, 425, 1000, None, -38, 3400, 55, 120, "M", "Philips data handbook"),
]

SLOPES = [  # valve, anode V, grid V, gm mA/V, rp kohm, mark, source
    ("12AX7", 250, -2, 1.6, 62.5, "S", "Wikipedia box citing Sylvania"),
    ("12AX7", 100, -1, 1.25, 80, "M", "RCA; rp seen in public worked examples"),
    ("12AT7", 250, -2, 5.5, 10.9, "S", "public worked examples: mu 60, rp"),
    ("12AU7", 250, -8.5, 2.2, 7.7, "S", "public worked examples: mu 17, rp"),
    ("12AY7", 250, -4, 1.75, 25, "S", "public table: mu 44, rp"),
    ("6SN7GT", 250, -8, 2.6, 7.7, "M", "RCA"),
    ("6SL7GT", 250, -2, 1.6, 44, "M", "RCA"),
]


@pytest.mark.parametrize(("name", "va", "vg", "ma", "mark", "source"), TRIODES)
def test_triode_passes_the_published_current(name, va, vg, ma, mark, source):
    assert triode_current(name, anode_v=va, grid_v=vg) * 1e3 == pytest.approx(ma, rel=ANODE_SHARE)


@pytest.mark.parametrize(("name", "va", "vs", "vg", "ma", "screen_ma", "mark", "source"), PENTODES)
def test_pentode_passes_the_published_currents(name, va, vs, vg, ma, screen_ma, mark, source):
    anode, screen = pentode_currents(name, anode_v=va, screen_v=vs, grid_v=vg)
    assert anode * 1e3 == pytest.approx(ma, rel=ANODE_SHARE)
    if screen_ma is not None:
        assert screen * 1e3 == pytest.approx(screen_ma, rel=SCREEN_SHARE)


def test_el34_test_point_lies_in_its_makers_band():
    """Electro-Harmonix EL34 sheet (S): 250 V, 265 V, -13.5 V gives 80 to 120 mA and at most 20 mA of screen."""
    anode, screen = pentode_currents("EL34", anode_v=250, screen_v=265, grid_v=-13.5)
    assert 0.080 <= anode <= 0.120
    assert 0.0 < screen <= 0.020


@pytest.mark.parametrize(
    ("name", "supply", "screen", "ohm", "ma", "screen_ma", "mark", "source"), CATHODE_BIASED
)
def test_shared_cathode_resistor_settles_where_the_sheet_says(
    name, supply, screen, ohm, ma, screen_ma, mark, source
):
    idle = cathode_bias(valve=name, supply_v=supply, screen_v=screen, cathode_ohm=ohm)
    assert idle.anode_a * 1e3 == pytest.approx(ma, rel=ANODE_SHARE)
    assert idle.cathode_v == pytest.approx(2 * (ma + screen_ma) * 1e-3 * ohm, rel=0.06)


@pytest.mark.parametrize(
    ("name", "supply", "screen", "bias", "load", "watt", "ma", "screen_ma", "mark", "source"), PUSH_PULL
)
def test_push_pull_gives_the_published_power(
    name, supply, screen, bias, load, watt, ma, screen_ma, mark, source
):
    """±15 % on power and anode current: the sheets' supplies sag a little, ours do not."""
    got = push_pull(valve=name, supply_v=supply, screen_v=screen, bias_v=bias, load_aa_ohm=load)
    assert got.power_w == pytest.approx(watt, rel=0.15)
    assert got.mean_supply_a * 1e3 == pytest.approx(ma, rel=0.15)
    if screen_ma is not None:
        assert got.mean_screen_a * 1e3 == pytest.approx(screen_ma, rel=0.30)


@pytest.mark.parametrize(
    ("name", "supply", "screens", "screen_ohm", "cathode_ohm", "bias", "load", "watt", "ma", "mark", "source"), FED
)
def test_a_pair_as_it_is_fed_gives_the_published_power(
    name, supply, screens, screen_ohm, cathode_ohm, bias, load, watt, ma, mark, source
):
    """Within 10 % of the power and of the driven anode current, the screens' and cathodes' resistors in place."""
    got = push_pull_fed(valve=name, supply_v=supply, screen_v=screens, screen_ohm=screen_ohm, cathode_ohm=cathode_ohm,
                        bias_v=bias, load_aa_ohm=load)
    print(f"{name} {supply} V: {got.full.power_w:.1f} W where {watt} W are published ({got.full.power_w / watt - 1:+.1%})")
    assert got.full.power_w == pytest.approx(watt, rel=0.10)
    assert got.full.mean_supply_a * 500 == pytest.approx(ma, rel=0.10)


@pytest.mark.parametrize(("name", "va", "vg", "gm", "rp", "mark", "source"), SLOPES)
def test_triode_slopes_follow_the_sheet(name, va, vg, gm, rp, mark, source):
    _, by_grid, by_anode = triode_point(valve(name).triode(), va, vg)
    assert float(by_grid) * 1e3 == pytest.approx(gm, rel=0.15)
    assert 1e-3 / float(by_anode) == pytest.approx(rp, rel=0.15)


@pytest.mark.parametrize("name", [n for n in valve_names() if valve(n).kind != "rectifier"])
def test_every_point_an_entry_prints_is_met_by_its_model(name):
    entry = valve(name)
    assert entry.points
    for point in entry.points:
        if entry.kind == "triode":
            got = triode_current(entry, anode_v=point.anode_v, grid_v=point.grid_v)
        else:
            assert point.screen_v is not None
            got, _ = pentode_currents(
                entry, anode_v=point.anode_v, screen_v=point.screen_v, grid_v=point.grid_v
            )
        assert got == pytest.approx(point.anode_a, rel=ANODE_SHARE), point.use


@pytest.mark.parametrize("name", [n for n in valve_names() if valve(n).model is not None])
def test_what_a_fit_is_said_to_miss_is_what_it_misses(name):
    """The error that pages print, worked out here from the entry's own points."""
    entry = valve(name)
    misses = []
    for point in entry.points:
        if entry.kind == "triode":
            got = triode_current(entry, anode_v=point.anode_v, grid_v=point.grid_v)
        else:
            got, _ = pentode_currents(entry, anode_v=point.anode_v, screen_v=point.screen_v, grid_v=point.grid_v)
        misses.append(got / point.anode_a - 1.0)
    found = fit_error(entry)
    assert found.points == len(misses)
    assert found.worst == pytest.approx(max(map(abs, misses))) and found.worst <= ANODE_SHARE


@pytest.mark.parametrize(("name", "va", "vs", "vg", "ma"), [("6550", 600, 300, -33, 57.5), ("KT88", 552, 300, -34, 60)])
def test_large_valves_do_not_run_cold_at_high_volts(name, va, vs, vg, ma):
    """They did, by 15 and 17 %, while one point at 250 V led the fit. From memory of the sheets; 7 % is the fit's own miss."""
    anode, _ = pentode_currents(name, anode_v=va, screen_v=vs, grid_v=vg)
    assert anode * 1e3 == pytest.approx(ma, rel=0.07)


@pytest.mark.parametrize("name", ["12AX7", "6L6", "EL84", "6550", "KT88", "6F6", "ECL82", "ECF80 triode"])
def test_the_parameters_in_the_table_are_what_the_fit_gives(name):
    """The numbers can be made anew: fit_valve_models.py holds the points and weights."""
    entry = valve(name)
    fitted = fit_triode(name) if entry.kind == "triode" else fit_pentode(name)
    for kept, fresh in zip(vars_of(entry.model), vars_of(fitted), strict=True):
        assert kept == pytest.approx(fresh, rel=0.03, abs=1e-6)
