"""Runs of first power-up, made as the bench makes them. Call inside `with transaction():`."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from app.db import session
from app.discharge.rules.listing import Layout
from app.findings.rules.life import DecidedBy, Disposition
from app.findings.service import outcome as outcome_service
from app.measuring.models import Instrument
from app.measuring.rules import Quantity, Statement
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.powerup import queries
from app.powerup.models import PowerUpEntry, PowerUpRun
from app.powerup.rules.items import Band, Biased, Item, ReadBy, Sort
from app.powerup.rules.trials import TrialKind
from app.powerup.service import bias as bias_service
from app.powerup.service import entries as entries_service
from app.powerup.service import runs as runs_service
from app.powerup.service.bias import Typed
from app.powerup.service.entries import Given
from app.powerup.service.runs import Begun
from app.safety.service import soaking as soaking_service
from tests.discharge import make as discharging
from tests.factories import NOW
from tests.measuring import make as measuring
from tests.people import BY
from tests.safety import make as safety

DUE = date(2036, 6, 1)
BEGUN = Begun("6L6GC", "V5, V6", Biased.FIXED, "V1", load_ohm=8.0, expected_w=40.0, expected_source="its schematic")
LAYOUT = Layout("47u, 47u", "1k", "500", bias_farads="50u", bias_volts="100")
# What a sound amp of two 6L6GC shows, by item. A band in the second place where the program asks for one.
SOUND: dict[str, tuple[str, Band | None]] = {
    "pe": ("0.11", None), "ht": ("220k", None), "grid": ("221k", None), "plug": ("14", Band(10, 20, "as found")),
    "anodes": ("62", Band(40, 90, "as found")), "secondary": ("0.7", Band(0.3, 1.2, "as found")), "insulation": (">200M", None),
    "mains": ("230", Band(207, 253, "the shop’s mains voltage")), "heaters": ("6.7", None),
    "bias": ("-54", Band(-75, -45, "computed")),
    "ripple": ("2.1", Band(None, 8, "computed")), "current": ("0.11", Band(None, 0.2, "no-load current and 30 %")),
    "anode": ("182", Band(150, 220, "computed")), "load": ("7.95", None), "power": ("18.2", None), "power-80": ("16.9", None),
    "power-5k": ("17.8", None),
    "hum": ("3m", Band(None, 20e-3, "as found")), "hum-up": ("6m", Band(None, 40e-3, "as found")),
}


def meter() -> Instrument:
    """A multimeter of the kind that reads everything here, in date."""
    stated = (Statement(Quantity.VOLT_DC, 600, 0.5, 3, 0.1), Statement(Quantity.VOLT_AC, 0.6, 1.0, 3, 1e-5),
              Statement(Quantity.VOLT_AC, 600, 1.0, 3, 0.01), Statement(Quantity.AMP_DC, 0.4, 0.5, 3, 1e-5),
              Statement(Quantity.AMP_AC, 10, 1.0, 3, 1e-3), Statement(Quantity.OHM, 400, 0.5, 3, 0.01),
              Statement(Quantity.OHM, 20e6, 0.5, 3, 1.0))
    return measuring.instrument("M77", stated=stated, calibrated_on=date(2025, 6, 1), due_on=DUE)


def tester() -> Instrument:
    return safety.tester("E77", due_on=DUE)


def order() -> RepairOrder:
    """An order in reassembly, with limits in force and its capacitors discharged."""
    safety.profile()
    made = safety.order(stage=Stage.REASSEMBLY)
    discharging.listed(made, LAYOUT)
    discharged(made)
    return made


def discharged(made: RepairOrder, now: datetime = NOW) -> None:
    if power.powered(made.id) is not None:
        power.power_off(made, by=BY, now=now)
    discharging.discharged(made, now=now)


def begun(made: RepairOrder | None = None, given: Begun = BEGUN) -> PowerUpRun:
    return runs_service.begin(made or order(), given, by=BY, now=NOW)


class Bench:
    """Goes through a run step by step; its clock moves a minute with each entry. `other` shows something else at an item."""

    def __init__(self, run: PowerUpRun, other: dict[str, str] | None = None) -> None:
        self.run, self.other, self.now = run, other or {}, NOW
        self.meter, self.tester = _known("M77") or meter(), _known("E77") or tester()

    def later(self, minutes: float = 1) -> datetime:
        self.now += timedelta(minutes=minutes)
        return self.now

    def step(self, number: int) -> None:
        """Everything of a step that is entered on its page."""
        for item, _ in queries.where(self.run.id).states[number].items:
            self.item(number, item)

    def to(self, number: int) -> None:
        """Every step before this one; the amp goes on power by its first powered reading."""
        for before in range(number):
            self.step(before)

    def item(self, number: int, item: Item) -> None:
        kind = item.key.split(":")[0]
        if item.sort is Sort.LOOK:
            entries_service.look(self.run, number, item.key, seen=True, by=BY, now=self.later())
        elif item.sort is Sort.DISCHARGE:
            entries_service.discharged(self.run, by=BY, now=self.later())
        elif item.is_read:
            self.read(number, item, *SOUND[kind] if (number, kind) != (2, "ht") else SOUND["ht"])
        elif item.sort is Sort.BIAS and number == 7:
            self.bias(7)
            self.later(4)
            self.bias(7)

    def read(self, number: int, item: Item, typed: str, band: Band | None = None) -> PowerUpEntry:
        if (number, item.key) in ((4, "ht"), (5, "ht")):
            typed, band = "452", None
        if (number, item.key) == (4, "mains"):
            typed, band = "120", Band(40, 230, "behind a lamp of 60 W")
        level = {ReadBy.BOND: 0.2, ReadBy.INSULATION: 500.0}.get(item.tester)
        given = Given(self.other.get(f"{number}:{item.key}", typed), self.meter if item.tester is ReadBy.ANY else self.tester,
                      None if item.fixed else band, level)
        return entries_service.measure(self.run, number, item.key, given, by=BY, now=self.later())

    def bias(self, step: int, first: str = "36m", second: str = "37m", **given: str) -> PowerUpEntry:
        typed = Typed("448", {"V5": first, "V6": second}, self.meter, self.meter, screen="442", grid="-52",
                      screens={"V5": "2.1m", "V6": "2.2m"}, cold_end_v=-70.0, hot_end_v=-40.0, load_aa_ohm=5600.0, **given)
        return bias_service.record_round(self.run, step, typed, by=BY, now=self.later())


def run_at(number: int) -> tuple[PowerUpRun, Bench]:
    """A run on a new order with every step before this one gone."""
    run = begun()
    bench = Bench(run)
    bench.to(number)
    return run, bench


def run_at_bias() -> tuple[PowerUpRun, Bench]:
    """A run whose bias was seen at its most negative: the output valves may be read."""
    run, bench = run_at(7)
    entries_service.look(run, 7, "cold", seen=True, by=BY, now=bench.later())
    return run, bench


def decided(run: PowerUpRun) -> None:
    """The finding of the abort that holds the run is decided."""
    halted = queries.where(run.id).abort
    assert halted is not None
    outcome_service.decide(halted.finding, Disposition.REPAIR, words="resolder", authority=DecidedBy.TECHNICIAN, by=BY, now=NOW)
    session().flush()


def _known(name: str) -> Instrument | None:
    from app.measuring import queries as measured

    return next((one for one in measured.instruments() if one.name == name), None)




def whole(run: PowerUpRun) -> Bench:
    """Every step of a sound amp, the soak run and the safety test with them; finished."""
    bench = Bench(run)
    bench.to(12)
    made = session().get_one(RepairOrder, run.order_id)
    power.power_off(made, by=BY, now=bench.later())
    safety.earthed(made, now=bench.later())
    soak = soaking_service.start_soak(made, load="8 Ω, 1 kHz", attended=True, by=BY, now=bench.later())
    for minutes in (0, 15, 60, soak.needed_minutes):
        bench.now = soak.started_at + timedelta(minutes=minutes)
        bench.bias(12)
    soaking_service.end_soak(soak, symptom_shown=False, observations="quiet, warm, no smell", by=BY, now=bench.later())
    entries_service.tried(run, TrialKind.COLD_START, trials=3, shown=0, by=BY, now=bench.later())
    bench.bias(13)
    bench.step(13)
    entries_service.tried(run, TrialKind.TAP, trials=10, shown=0, by=BY, now=bench.later())
    bench.step(14)
    safety.off(made, now=bench.later())
    safety.completed(made, bench.tester, now=bench.later())
    runs_service.finish(run, by=BY, now=bench.later())
    return bench
