"""Worked figures of handbooks and sheets: stage gains, bases, idle arithmetic, load lines, reflected loads."""

from __future__ import annotations

from math import sqrt

import pytest

from app.electrics import (
    anode_current_by_resistance,
    arc_risk_pins,
    composite_line,
    damping_factor,
    idle_point,
    idle_target,
    mismatch,
    output_power,
    push_pull,
    reflected_load,
    stage_gain,
    triode_stage,
    turns_ratio,
    valve,
)

# --- resistance-coupled stages ---


def test_12ax7_gain_as_read_from_the_sheet():
    """el34world topic 28043 (seen): 300 V, 100 k, 1.5 k bypassed, next grid 1 M, read graphically: 62."""
    got = triode_stage(
        valve="ECC83", supply_v=300, anode_ohm=100e3, cathode_ohm=1500, next_grid_ohm=1e6
    )
    assert got.gain == pytest.approx(62, rel=0.06)


@pytest.mark.parametrize(
    ("supply", "ra", "rk", "rg", "low", "high"),
    [
        (300, 220e3, 3200, 470e3, 59, 63),
        (300, 100e3, 1800, 220e3, 47, 52),
        (300, 470e3, 5200, 1e6, 63, 66),
    ],
)
def test_12ax7_rows_of_the_resistance_coupled_table(supply, ra, rk, rg, low, high):
    """RCA manual, RC-30 style, from memory with low confidence: so ±15 % round what it may print."""
    got = triode_stage(valve="12AX7", supply_v=supply, anode_ohm=ra, cathode_ohm=rk, next_grid_ohm=rg)
    assert low * 0.85 <= got.gain <= high * 1.15


@pytest.mark.parametrize(
    ("mu", "rp", "load", "rk", "gain"),
    [  # public worked examples of triode stages, 4.1 to 4.3 (seen)
        (100, 80e3, 1 / (1 / 220e3 + 1 / 470e3), 0, 65.2),
        (60, 10.9e3, 3e3, 0, 12.9),
        (17, 7.7e3, 3e3, 0, 4.77),
        (100, 80e3, 3e3, 0, 3.61),
        (100, 80e3, 149.9e3, 3.3e3, 26.6),
    ],
)
def test_gain_by_the_equivalent_circuit(mu, rp, load, rk, gain):
    assert stage_gain(mu=mu, rp_ohm=rp, load_ohm=load, cathode_ohm=rk) == pytest.approx(gain, rel=0.005)


# --- bases ---

PINS = [  # valve, pin by pin from 1; "-" where the base has nothing of use
    ("6L6GC", "- heater anode screen grid - heater cathode"),  # S Wikipedia, 6L6
    ("5881", "- heater anode screen grid - heater cathode"),  # S the same
    ("6550", "- heater anode screen grid - heater cathode"),  # M
    ("KT88", "- heater anode screen grid - heater cathode"),  # M
    ("6V6GT", "- heater anode screen grid - heater cathode"),  # S Electro-Harmonix 6V6 sheet
    ("EL34", "suppressor heater anode screen grid - heater cathode"),  # S Electro-Harmonix EL34 sheet
    ("EL84", "- grid cathode heater heater - anode - screen"),  # S KiCad
    ("12AX7", "anode_2 grid_2 cathode_2 heater heater anode_1 grid_1 cathode_1 heater_tap"),  # S KiCad
    ("12AT7", "anode_2 grid_2 cathode_2 heater heater anode_1 grid_1 cathode_1 heater_tap"),  # S KiCad
    ("12AU7", "anode_2 grid_2 cathode_2 heater heater anode_1 grid_1 cathode_1 heater_tap"),  # S KiCad
    ("12AY7", "anode_2 grid_2 cathode_2 heater heater anode_1 grid_1 cathode_1 heater_tap"),  # S KiCad
    ("6SN7GT", "grid_2 anode_2 cathode_2 grid_1 anode_1 cathode_1 heater heater"),  # S Electro-Harmonix 6SN7
    ("6SL7GT", "grid_2 anode_2 cathode_2 grid_1 anode_1 cathode_1 heater heater"),  # M
    ("6973", "screen - grid heater heater grid cathode screen anode"),  # M, low confidence
    ("7591", "- heater anode screen cathode grid heater screen"),  # M, low confidence
    ("5U4GB", "- heater - anode - anode - heater"),  # S EML 5U4G sheet
    ("5Y3GT", "- heater - anode - anode - heater"),  # S
    ("5AR4", "- heater - anode - anode - heater"),  # M
]


@pytest.mark.parametrize(("name", "row"), PINS)
def test_base_pins(name, row):
    pins = valve(name).pins
    for number, use in enumerate(row.split(), start=1):
        if use == "-":
            idle = {"no_connection", "internal_connection"}
            assert all(number not in held for function, held in pins.items() if function not in idle)
        else:
            assert number in pins[use]


def test_el34_in_a_6l6_socket_lacks_a_link_from_1_to_8():
    """Computed from the two bases: only the suppressor's pin differs, and the remark says what to do."""
    el34, other = valve("EL34"), valve("6L6GC")
    differing = {use for use in el34.pins if use not in other.pins}
    assert differing == {"suppressor"}
    assert el34.pins["suppressor"] == (1,)
    assert "1 and 8" in el34.remark


@pytest.mark.parametrize("name", ["6L6GC", "6V6GT", "EL34", "6550", "KT88", "5881", "7591"])
def test_octal_output_bases_arc_from_3_to_2(name):
    """Common practice, no source: look for the carbon track between anode 3 and heater 2."""
    assert arc_risk_pins(name) == ((3, 2),)


def test_no_heater_stands_beside_the_anode_of_an_el84():
    assert arc_risk_pins("EL84") == ()


# --- idle arithmetic ---


@pytest.mark.parametrize(
    ("name", "anode", "share", "ma"),
    [("6L6GC", 450, 0.7, 46.7), ("EL34", 450, 0.7, 38.9), ("EL84", 350, 0.7, 24.0), ("6V6GT", 350, 0.7, 24.0)],
)
def test_seventy_per_cent_of_the_rating(name, anode, share, ma):
    """Computed: 30 W, 25 W and 12 W (ratings seen)."""
    assert idle_target(valve=name, anode_v=anode, share=share) * 1e3 == pytest.approx(ma, abs=0.1)


def test_el84_pair_on_a_shared_resistor():
    """Computed from the sheet (300 V, 36 mA, 4 mA, 130 ohm shared): Vk 10.4 V, 10.4 W, 87 % of 12 W."""
    cathode = 130 * 2 * (0.036 + 0.004)
    assert cathode == pytest.approx(10.4)
    got = idle_point(valve="EL84", anode_v=300, cathode_a=0.040, screen_a=0.004, cathode_v=cathode)
    assert got.anode_dissipation_w == pytest.approx(10.4, abs=0.05)
    assert got.share_of_max == pytest.approx(0.87, abs=0.005)


def test_6l6gc_at_its_55_watt_point():
    """Computed: 450 V × 58 mA = 26.1 W = 87 % of 30 W; screen 400 V × 2.8 mA = 1.12 W of 5 W."""
    got = idle_point(valve="6L6GC", anode_v=450, cathode_a=0.0608, screen_a=0.0028, screen_v=400)
    assert got.anode_a == pytest.approx(0.058)
    assert got.anode_dissipation_w == pytest.approx(26.1)
    assert got.share_of_max == pytest.approx(0.87)
    assert got.screen_dissipation_w == pytest.approx(1.12)
    assert got.screen_share_of_max == pytest.approx(0.224)


def test_winding_drop_reads_as_current():
    """Ohm's law: 3.5 V across 58.3 ohm of half primary is 60 mA."""
    assert anode_current_by_resistance(drop_v=3.5, winding_ohm=58.3) == pytest.approx(0.0600, abs=5e-5)


# --- push-pull ---


def test_ten_watts_into_8000_ohm():
    """Seen (el34world quoting RDH4): 282.8 V rms and 35.36 mA rms, 200 V and 50 mA peak a half, 250 V supply."""
    assert output_power(volt_rms=282.8, load_ohm=8000) == pytest.approx(10, rel=1e-3)
    assert output_power(volt_rms=200 / sqrt(2), load_ohm=8000 / 4) == pytest.approx(10)  # one valve, Raa/4
    assert output_power(volt_rms=2 * 200 / sqrt(2), load_ohm=8000) == pytest.approx(10)  # the whole primary


@pytest.mark.parametrize(
    ("name", "supply", "screen", "bias", "load"),
    [("6L6GC", 450, 400, -37, 5600), ("6V6GT", 285, 285, -19, 8000), ("6550", 400, 275, -23, 3500)],
)
def test_power_follows_the_load_line_identity(name, supply, screen, bias, load):
    """RDH4, quoted (seen): Po = Ipk (Vb - Vmin) / 2 for a sine; the computed wave is a few per cent fuller."""
    got = push_pull(valve=name, supply_v=supply, screen_v=screen, bias_v=bias, load_aa_ohm=load)
    assert got.power_w == pytest.approx(0.5 * got.peak_anode_a * (supply - got.least_anode_v), rel=0.08)


def test_beyond_class_a_the_line_has_a_quarter_of_the_load():
    """RDH4, quoted (seen): once one valve is off, the other works into Raa/4; ours cuts off softly, hence 8 %."""
    line = composite_line(
        valve="6L6GC", supply_v=450, screen_v=400, bias_v=-37, load_aa_ohm=5600, points=201
    )
    drop, rise = line.anode_v[-5] - line.anode_v[-1], line.anode_a[-1] - line.anode_a[-5]
    assert drop / rise == pytest.approx(1400, rel=0.08)
    middle = len(line.anode_v) // 2
    near = slice(middle - 5, middle + 6, 10)
    (v0, v1), (a0, a1) = line.anode_v[near], line.anode_a[near]
    assert (v0 - v1) / (a1 - a0) == pytest.approx(2800, rel=0.02)  # both on: Raa/2


def test_power_of_a_clean_sine_is_power_by_crest():
    """Identity of a sine: the mean square is half the square of the crest."""
    got = push_pull(valve="6L6", supply_v=360, screen_v=270, bias_v=-22.5, load_aa_ohm=3800)
    assert got.harmonic_share < 0.02
    crest = 360 - got.least_anode_v
    assert got.power_w == pytest.approx(0.5 * crest**2 / got.load_per_side_ohm, rel=0.02)


# --- transformer and load ---


@pytest.mark.parametrize(
    ("primary", "secondary", "ratio"),
    [(5600, 8, 26.46), (3400, 8, 20.62), (8000, 8, 31.62), (8000, 16, 22.36), (6600, 4, 40.62)],
)
def test_ratio_reflects_the_load(primary, secondary, ratio):
    """n = sqrt(Zp / Zs), computed."""
    assert reflected_load(turns_ratio=ratio, load_ohm=secondary) == pytest.approx(primary, rel=1e-3)


def test_25_to_1_makes_8_ohm_into_5000():
    """Seen in a public note."""
    assert reflected_load(turns_ratio=25, load_ohm=8) == 5000


def test_ten_volts_across_a_5600_to_8_primary():
    """Computed: 10.00 V anode to anode gives 378.0 mV."""
    ratio = turns_ratio(primary_v=10.0, secondary_v=0.3780)
    assert reflected_load(turns_ratio=ratio, load_ohm=8) == pytest.approx(5600, rel=1e-3)


def test_taps_stand_to_each_other_as_roots():
    """Computed: the 4 ohm tap gives 1/sqrt(2) of the 8 ohm tap's volts and half of the 16 ohm tap's."""
    ratios = {tap: sqrt(6600 / tap) for tap in (4, 8, 16)}
    volts = {tap: 100 / ratio for tap, ratio in ratios.items()}
    assert volts[4] / volts[8] == pytest.approx(1 / sqrt(2))
    loads = {reflected_load(turns_ratio=turns_ratio(primary_v=100, secondary_v=v), load_ohm=t)
             for t, v in volts.items()}  # fmt: skip
    assert all(load == pytest.approx(6600) for load in loads)


@pytest.mark.parametrize(("volt", "ohm", "watt"), [(20.0, 8, 50.0), (28.3, 16, 50.06), (12.65, 4, 40.0)])
def test_dummy_load_power(volt, ohm, watt):
    """V² / R, computed."""
    assert output_power(volt_rms=volt, load_ohm=ohm) == pytest.approx(watt, rel=1e-3)


@pytest.mark.parametrize(
    ("tap", "load", "ratio", "verdict"),
    [(8, 4, 0.5, "tolerable"), (8, 16, 2.0, "tolerable"), (8, 8, 1.0, "matched"), (4, 16, 4.0, "too high"),
     (16, 4, 0.25, "too low"), (8, 16 / 3, 2 / 3, "tolerable")],
)  # fmt: skip
def test_wrong_tap(tap, load, ratio, verdict):
    """Factor computed; 2:1 either way tolerable is practice, from memory."""
    got = mismatch(nominal_ohm=tap, load_ohm=load)
    assert got.ratio == pytest.approx(ratio)
    assert got.verdict == verdict
    assert got.words.endswith(".")


def test_damping_factor_of_a_loop_without_feedback():
    """Voltage divider, computed: 12 V open, 8 V on 8 ohm means 4 ohm inside, factor 2."""
    assert damping_factor(open_v=12, loaded_v=8, load_ohm=8) == pytest.approx(2.0)


# --- rectifiers ---


@pytest.mark.parametrize(
    ("name", "ma", "volt"),
    [("5AR4", 50, 5.42), ("5AR4", 125, 9.98), ("5AR4", 250, 15.85), ("5U4GB", 100, 25.35),
     ("5U4GB", 225, 43.53), ("5U4GB", 275, 49.76), ("5Y3GT", 50, 27.21), ("5Y3GT", 100, 43.19),
     ("5Y3GT", 125, 50.12), ("5V4GA", 175, 25.0), ("5U4G", 225, 58.0)],
)  # fmt: skip
def test_perveance_gives_the_printed_drop(name, ma, volt):
    """V = (I/G)^(2/3), computed from the perveances seen in a public library; 5U4G drop seen (tubeofile 5Z3)."""
    rectifier = valve(name).rectifier
    assert rectifier is not None
    assert (ma * 1e-3 / rectifier.perveance) ** (2 / 3) == pytest.approx(volt, abs=0.05)
