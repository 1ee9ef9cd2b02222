"""A first power-up in the demo: the most negative bias shows one of four output valves far hotter than its twins.

Its base read the same bias as the others while it was empty, so that it is the valve. The run is aborted there; another of the
lot is put in; the cold checks come again, as hands were in the amp, and the next rounds of bias read as they should. The run stands
before the stability checks.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from app.db import session
from app.discharge import queries as discharging
from app.discharge.rules.listing import Supply
from app.discharge.service import Round, Stick, record_round
from app.findings.rules.life import Area, DecidedBy, Disposition
from app.findings.service import outcome
from app.journal.service import Actor
from app.orders import power
from app.orders.models import RepairOrder
from app.powerup import queries
from app.powerup.models import PowerUpRun
from app.powerup.rules.course import Go
from app.powerup.rules.items import Band, Biased, Item, ReadBy, Sort
from app.powerup.service import bias, entries, runs
from app.powerup.service.bias import Typed
from app.powerup.service.entries import Given
from app.powerup.service.runs import Begun
from app.safety.service import proofs
from demo_data.setting import Bench

BIAS = 7
MARKS = ("V5", "V6", "V7", "V8")
BEGUN = Begun("6L6GC", ", ".join(MARKS), Biased.FIXED, "V1", load_ohm=8.0, expected_w=60.0, expected_source="its schematic")
# What the meter showed, by item; a band in the second place where the run asks for one.
SHOWN: dict[str, tuple[str, Band | None]] = {
    "pe": ("0.12", None), "ht": ("198k", None), "grid": ("221k", None), "plug": ("9.8", Band(7, 14, "as found")),
    "anodes": ("41", Band(30, 60, "as found")), "secondary": ("0.6", Band(0.3, 1.2, "as found")), "insulation": (">200M", None),
    "mains": ("231", Band(207, 253, "the shop’s mains voltage")), "heaters": ("6.6", None),
    "bias": ("-52", Band(-75, -45, "its schematic")), "ripple": ("1.9", Band(None, 8, "its schematic")),
    "current": ("0.16", Band(None, 0.3, "no-load current and 30 %")), "anode": ("176", Band(150, 220, "its schematic"))}
HT = "452"
LIMITER = ("118", Band(40, 231, "behind a lamp of 100 W"))
# At the most negative bias, −52 V, where a 6L6GC by its curves draws some 33 mA: 15 W of the 30 W it may dissipate; 71 mA are 32 W.
HOT = {"V5": "33.4m", "V6": "34.6m", "V7": "71m", "V8": "32.8m"}
MENDED = {"V5": "33.6m", "V6": "34.8m", "V7": "34.1m", "V8": "33.0m"}
SCREENS = {"V5": "1.5m", "V6": "1.6m", "V7": "1.6m", "V8": "1.5m"}


def commission(order: RepairOrder, by: Actor, with_: Bench, began: datetime) -> PowerUpRun:
    """From the cold checks to the bias, the abort, the mend and the bias once more. Call inside a transaction."""
    run = runs.begin(order, BEGUN, by=by, now=began)
    session().flush()
    hands = _Hands(order, run, by, with_, began)
    hands.to(BIAS)
    hands.round(HOT)
    seen = runs.finding_facts("V7 draws 71 mA at the bias at which its twins draw 33 to 35", Area.OUTPUT.value,
                              "V7")
    halted = runs.abort(run, BIAS, seen, off=True, by=by, now=hands.later())
    finding = halted.finding
    outcome.decide(finding, Disposition.REPLACE_LIKE, words="The spare valve of the same lot in its place.",
                   authority=DecidedBy.TECHNICIAN, by=by, now=hands.later(5))
    session().flush()
    outcome.act_on(finding, words="V7 changed for the spare valve; the old one is kept, marked", by=by, now=hands.later(35))
    session().flush()
    runs.resume(run, hypothesis="The valve, not its base: the base reads −52 V. The new one draws some 34 mA, as the others do.",
                hands_in=True, by=by, now=hands.later(2))
    session().flush()
    hands.to(BIAS)
    hands.round(MENDED)
    hands.later(4)
    hands.round(MENDED)
    proofs.prove(finding, result="all four draw 33 to 35 mA at the coldest bias, and four minutes later", instrument="M2", by=by,
                 now=hands.later())
    session().flush()
    power.power_off(order, by=by, now=hands.later())
    return run


class _Hands:
    """Whoever stands at the bench; a minute passes with each entry."""

    def __init__(self, order: RepairOrder, run: PowerUpRun, by: Actor, with_: Bench, now: datetime) -> None:
        self.order, self.run, self.by, self.bench, self.now = order, run, by, with_, now

    def later(self, minutes: float = 1) -> datetime:
        self.now += timedelta(minutes=minutes)
        return self.now

    def to(self, step: int) -> None:
        """Every item that is open before this step, and the looks of the step itself."""
        for number in range(step + 1):
            for item, go in queries.where(self.run.id).states[number].items:
                if go is Go.OPEN and (number < step or item.sort is Sort.LOOK):
                    self._enter(number, item)
                    session().flush()

    def _enter(self, number: int, item: Item) -> None:
        if item.sort is Sort.LOOK:
            entries.look(self.run, number, item.key, seen=True, by=self.by, now=self.later())
        elif item.sort is Sort.DISCHARGE:
            self._discharge()
            entries.discharged(self.run, by=self.by, now=self.later())
        elif item.is_read:
            entries.measure(self.run, number, item.key, self._read(number, item), by=self.by, now=self.later())

    def _read(self, number: int, item: Item) -> Given:
        typed, band = SHOWN[item.key.split(":")[0]]
        if (number, item.key) in ((4, "ht"), (5, "ht")):
            typed = HT
        if (number, item.key) == (4, "mains"):
            typed, band = LIMITER
        level = {ReadBy.BOND: 0.2, ReadBy.INSULATION: 500.0}.get(item.tester)
        with_ = self.bench.meter if item.tester is ReadBy.ANY else self.bench.tester
        return Given(typed, with_, None if item.fixed else band, level)

    def _discharge(self) -> None:
        if power.powered(self.order.id) is not None:
            power.power_off(self.order, by=self.by, now=self.later())
        supply = discharging.list_of(self.order.id)
        if supply is None:
            raise RuntimeError("an amp is commissioned that was never stripped down")
        volts = {one.id: "-0.4" if one.supply is Supply.BIAS else "0.9" for one in supply.capacitors}
        record_round(self.order, Round(volts, self.bench.meter, "9 V battery", True, True, Stick(10e3, 25.0, 90.0)), by=self.by,
                     now=self.later(4))
        session().flush()

    def round(self, currents: dict[str, str]) -> None:
        """All four on one page, at the most negative bias."""
        typed = Typed("452", currents, self.bench.meter, self.bench.meter, screen="447", grid="-52", screens=SCREENS,
                      cold_end_v=-52.0, hot_end_v=-38.0, load_aa_ohm=2800.0)
        bias.record_round(self.run, BIAS, typed, by=self.by, now=self.later())
        session().flush()
