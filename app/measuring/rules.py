"""What can be read, what a meter states about itself, and the verdict of a reading. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from app.electrics import judge, meter_uncertainty, show

DUE_SOON = timedelta(days=30)  # common practice, no source


class Quantity(StrEnum):
    """What is read: a unit, and d.c. or a.c. where a meter states different accuracies."""

    VOLT_DC = "V DC"
    VOLT_AC = "V AC"
    OHM = "Ω"
    AMP_DC = "A DC"
    AMP_AC = "A AC"
    WATT = "W"
    HERTZ = "Hz"
    FARAD = "F"
    CELSIUS = "°C"

    @property
    def unit(self) -> str:
        return self.value.split()[0]

    @property
    def needs_power(self) -> bool:
        """Whether it is read with the amp on: volts, current, watts and hertz are; ohms and farads are read unplugged."""
        return self not in (Quantity.OHM, Quantity.FARAD, Quantity.CELSIUS)

    @property
    def word(self) -> str:
        return {"V DC": "volts DC", "V AC": "volts AC", "Ω": "ohms", "A DC": "amperes DC", "A AC": "amperes AC",
                "W": "watts", "Hz": "hertz", "F": "farads", "°C": "degrees Celsius"}[self.value]


    @property
    def typed_like(self) -> str:
        """Readings of this unit as somebody types them: the hint of a field. Each of them can be read in it."""
        return {"V": "441, 6.3, 38m", "A": "1.8, 38.5m, 350u", "Ω": "0.12, 470, 4k7", "W": "30, 4.5, 80m", "Hz": "1k, 82, 400",
                "F": "47u, 22n, 100p", "°C": "21, 64.5"}[self.unit]

    @property
    def bound_like(self) -> str:
        """A reading at the end of a range, typed: less than a meter shows, or more."""
        return {"V": "<0.1m", "A": "<0.05m", "Ω": ">200M", "W": "<1m", "Hz": ">100k", "F": ">100u", "°C": ">400"}[self.unit]


class Kind(StrEnum):
    """What an instrument is."""

    MULTIMETER = "multimeter"
    BOND_TESTER = "earth-bond tester"
    INSULATION_TESTER = "insulation tester"
    LEAKAGE_TESTER = "leakage tester"
    SAFETY_TESTER = "appliance safety tester"  # bond, insulation and leakage in one
    OSCILLOSCOPE = "oscilloscope"
    LOAD = "dummy load"
    CAPACITOR_TESTER = "capacitor or LCR tester"
    VALVE_TESTER = "valve tester"
    THERMOMETER = "thermometer"
    OTHER = "other"

    @property
    def measures(self) -> bool:
        """Whether it gives readings at all: a load takes power and shows nothing."""
        return self is not Kind.LOAD


class State(StrEnum):
    """What an instrument may be used for."""

    IN_SERVICE = "in service"
    INDICATION = "indication only"
    QUARANTINED = "quarantined"


class Standing(StrEnum):
    """Whether a reading of it counts on a day."""

    IN_DATE = "in date"
    DUE_SOON = "due soon"
    OVERDUE = "overdue"
    NEVER = "no calibration on record"
    INDICATION = "indication only"
    QUARANTINED = "quarantined"

    @property
    def counts(self) -> bool:
        """Whether it may prove anything about safety."""
        return self in (Standing.IN_DATE, Standing.DUE_SOON)


def standing(state: State, due_on: date | None, today: date) -> Standing:
    """How an instrument stands on a day; the day on which calibration is due still counts."""
    if state is State.QUARANTINED:
        return Standing.QUARANTINED
    if state is State.INDICATION:
        return Standing.INDICATION
    if due_on is None:
        return Standing.NEVER
    if due_on < today:
        return Standing.OVERDUE
    return Standing.DUE_SOON if due_on - today <= DUE_SOON else Standing.IN_DATE


@dataclass(frozen=True)
class Statement:
    """An accuracy statement: ±(percent of reading + counts × resolution), up to a range's end; SI units."""

    quantity: Quantity
    up_to: float
    percent: float
    counts: float
    resolution: float

    @property
    def words(self) -> str:
        digits = f" + {self.counts:g} × {say(self.resolution, self.quantity.unit)}" if self.counts else ""
        return f"±({self.percent:g} %{digits})"


def statement_for(value: float, quantity: Quantity, stated: Iterable[Statement]) -> Statement | None:
    """The statement of the lowest range that holds the value; None if the meter states nothing for it."""
    fitting = [one for one in stated if one.quantity is quantity and abs(value) <= one.up_to]
    return min(fitting, key=lambda one: one.up_to, default=None)


def expanded(value: float, stated: Statement) -> float:
    """Expanded uncertainty (k = 2) of this reading, in its unit (JCGM 100, 4.3.7)."""
    return meter_uncertainty(value, percent=stated.percent, counts=stated.counts, resolution=stated.resolution)


class Relation(StrEnum):
    """A meter at the end of its range tells only a bound."""

    IS = "="
    MORE = ">"
    LESS = "<"


class Verdict(StrEnum):
    """What the reading says about the limits. Computed, never typed."""

    PASS = "pass"  # noqa: S105 - a verdict
    FAIL = "fail"
    UNDECIDED = "undecided"
    NOT_JUDGED = "not judged"

    @property
    def word(self) -> str:
        return "in doubt" if self is Verdict.UNDECIDED else self.value

    @property
    def sign(self) -> str:
        """The shape it is drawn with."""
        return {"pass": "pass", "fail": "fail", "undecided": "doubt", "not judged": "none"}[self.value]


@dataclass(frozen=True)
class Inputs:
    """All that a verdict rests on: one unit throughout; `uncertainty` is expanded (k = 2), None if not known."""

    value: float
    relation: Relation
    lower: float | None
    upper: float | None
    uncertainty: float | None


@dataclass(frozen=True)
class Judged:
    """A verdict and, where it is not a plain pass, why."""

    verdict: Verdict
    false_accept: float | None = None
    why: str = ""


def judged(given: Inputs) -> Judged:
    """The guard-banded verdict (ILAC-G8:09/2019, w = U). A bound such as '> 200 MΩ' passes a lower limit that the bound
    itself passes, fails an upper one that it fails, and leaves the rest in doubt.
    """
    if given.lower is None and given.upper is None:
        return Judged(Verdict.NOT_JUDGED, why="It has no limits.")
    if given.uncertainty is None:
        return Judged(Verdict.NOT_JUDGED, why="The instrument states no accuracy for it.")
    if given.relation is Relation.IS:
        found = judge(given.value, lower=given.lower, upper=given.upper, uncertainty=given.uncertainty)
        return Judged(Verdict(found.verdict), found.false_accept_probability, _why(given, found.verdict))
    verdict = _bound(given, given.uncertainty)
    return Judged(verdict, None, "" if verdict is Verdict.PASS else _why(given, verdict.value))


def _bound(given: Inputs, uncertainty: float) -> Verdict:
    """'> 200 MΩ' lies towards an upper limit and away from a lower one; '< 50 µA' the other way round."""
    value, more = given.value, given.relation is Relation.MORE
    upper, lower = (given.upper, None) if more else (None, given.lower)
    if upper is not None or lower is not None:
        towards = judge(value, lower=lower, upper=upper, uncertainty=uncertainty)
        return Verdict.FAIL if towards.verdict == "fail" else Verdict.UNDECIDED
    away = judge(value, lower=given.lower, upper=given.upper, uncertainty=uncertainty)
    return Verdict.PASS if away.verdict == "pass" else Verdict.UNDECIDED


def _why(given: Inputs, verdict: str) -> str:
    if verdict == "fail":
        return "It is outside by more than the uncertainty."
    if verdict == "undecided":
        if given.relation is not Relation.IS:
            return "The end of a range tells too little about this limit."
        return "It is too close to the limit to judge."
    return ""


class Phase(StrEnum):
    """Before touching, or before leaving."""

    AS_FOUND = "as found"
    AS_LEFT = "as left"


def say(value: float | None, unit: str, digits: int = 5) -> str:
    """A quantity as the bench writes it, with a true minus; nothing for None."""
    return "" if value is None else show(value, unit, digits=digits).replace("-", "−")


def say_read(value: float, relation: str, unit: str) -> str:
    """A reading: '441 V', '> 200 MΩ'."""
    mark = "" if relation == Relation.IS.value else f"{relation} "
    return mark + say(value, unit)


def inward(value: float | None, *, up: bool, digits: int = 5) -> float | None:
    """A limit at so many digits, never rounded outwards: what is printed lets nothing pass that the limit refuses."""
    if value is None or value == 0 or not math.isfinite(value):
        return value
    step = 10.0 ** (math.floor(math.log10(abs(value))) + 1 - digits)
    steps = value / step
    near = round(steps)
    if math.isclose(steps, near, rel_tol=1e-9):
        return value
    return (math.ceil(steps) if up else math.floor(steps)) * step


def say_uncertainty(uncertainty: float | None, relation: str, unit: str) -> str:
    """'±3 V'; nothing for a bound: what a meter says at the end of its range is only that it lies beyond."""
    return f"±{say(uncertainty, unit, 2)}" if uncertainty is not None and relation == Relation.IS.value else ""


def say_band(lower: float | None, upper: float | None, unit: str) -> str:
    """'421 … 455 V', 'at most 300 mΩ', 'at least 1 MΩ'; nothing without limits. Never rounded outwards."""
    lower, upper = inward(lower, up=True), inward(upper, up=False)
    if lower is None and upper is None:
        return ""
    if lower is None:
        return f"at most {say(upper, unit)}"
    if upper is None:
        return f"at least {say(lower, unit)}"
    low, high = say(lower, unit), say(upper, unit)
    number, _, shared = low.rpartition(" ")
    return f"{number} … {high}" if number and high.endswith(f" {shared}") else f"{low} … {high}"


@dataclass(frozen=True)
class Usual:
    """A point that is read on most amps, with what it is judged by where a general limit exists."""

    name: str
    quantity: Quantity
    basis: str = ""


# Common practice, no source: after a rebuild these are read from the supply forward.
USUAL_POINTS: tuple[Usual, ...] = (
    Usual("Protective earth, plug pin to chassis", Quantity.OHM), Usual("Mains voltage at the amp", Quantity.VOLT_AC),
    Usual("Mains current at idle", Quantity.AMP_AC), Usual("HT1, reservoir", Quantity.VOLT_DC),
    Usual("Ripple at the reservoir", Quantity.VOLT_AC), Usual("HT2, screens", Quantity.VOLT_DC), Usual("Heaters", Quantity.VOLT_AC),
    Usual("Bias, first output valve", Quantity.VOLT_DC), Usual("Bias, second output valve", Quantity.VOLT_DC),
    Usual("Cathode current, first output valve", Quantity.AMP_DC), Usual("Cathode current, second output valve", Quantity.AMP_DC),
    Usual("Screen current, first output valve", Quantity.AMP_DC), Usual("Screen current, second output valve", Quantity.AMP_DC),
    Usual("Output power at the onset of clipping", Quantity.WATT),
    Usual("Hum at the load, inputs shorted", Quantity.VOLT_AC),
)
