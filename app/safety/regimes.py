"""The profiles that ship: limits of published regimes as data, each with its source and how well it is known. Pure.

A limit marked M is from memory; the document named is where the owner confirms it. Observations are common practice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.electrics import BOND_PROFILES, REGIME_LIMITS, bond_profile
from app.measuring.rules import Quantity
from app.safety.rules import Applies, Mark, StepKind

# The least current that each regime’s earth test is done with, in A, as its entry in BOND_PROFILES says it (the German and
# European ones seen, the others from memory); UL names none that was seen.
LEAST_BOND_A = {"vde_0701_0702": 0.2, "en_50678": 0.2, "en_50699": 0.2, "iet": 0.02, "as_nzs_3760": 0.1, "as_nzs_5762": 0.1}
WITHOUT_THE_LEAD = frozenset({"ul"})  # its limit is for the appliance alone
PRACTICE = "common practice, no source"
HIGH_VOLTS = "500 V DC, live and neutral joined, the amp’s own switch on"


@dataclass(frozen=True)
class StepSpec:
    """One step of a profile. Limits in the quantity's unit; `rule` names the regime that computes the bond limit."""

    kind: StepKind
    title: str
    question: str
    applies: Applies = Applies.ANY
    quantity: Quantity | None = None
    lower: float | None = None
    upper: float | None = None
    rule: str = ""
    least_level: float | None = None  # A through an earth, V on an insulation: what the limit asks of the tester
    condition: str = ""
    mark: Mark = Mark.SEEN
    source: str = PRACTICE
    note: str = ""


@dataclass(frozen=True)
class Regime:
    """A profile as it ships."""

    key: str
    name: str
    edition: str
    where: str
    steps: tuple[StepSpec, ...]


def _seen(kind: StepKind, title: str, question: str, applies: Applies = Applies.ANY) -> StepSpec:
    return StepSpec(kind, title, question, applies)


LOOKED_AT: tuple[StepSpec, ...] = (
    _seen(StepKind.VISUAL, "Mains lead and plug",
          "Lead, plug and strain relief are sound, and are the ones going back with the amp."),
    _seen(StepKind.VISUAL, "Protective earth fixing",
          "The protective earth has a fixing of its own, with its washer, and is tight.", Applies.I),
    _seen(StepKind.VISUAL, "Double insulation", "Both layers of insulation are whole; no bare metal can be touched.", Applies.II),
    _seen(StepKind.VISUAL, "Case", "Assembled in its cabinet; every cover and guard is on and no opening admits the test finger."),
    _seen(StepKind.VISUAL, "Heat, liquid, loose parts", "No trace of scorching or liquid; nothing rattles when it is turned."),
    _seen(StepKind.VISUAL, "Marking", "Mains voltage, power and warnings can be read and are right."),
    _seen(StepKind.FUSE, "Fuse", "The fuse fitted is the one marked: type, amperes, volts. Enter what is fitted."),
    _seen(StepKind.POLARITY, "Polarity", "The live conductor goes through fuse and switch first; polarity is right from "
                                         "plug to switch."),
)
WORKS: tuple[StepSpec, ...] = (
    _seen(StepKind.FUNCTIONAL, "Safe function", "Switches, standby and every protective part do what they are for."),
)


def _bond(key: str) -> StepSpec:
    found = bond_profile(key)
    sample = found.rule(3.0, 1.0)
    where = ("From the earth contact of the inlet, or the lead’s end at the chassis, to each bare metal part; the mains lead is "
             "not in this reading." if key in WITHOUT_THE_LEAD else
             "From the plug’s earth pin to each bare metal part; the mains lead is in this reading.")
    return StepSpec(StepKind.BOND, "Protective earth resistance", where, Applies.I, Quantity.OHM, rule=key,
                    least_level=LEAST_BOND_A.get(key), condition=f"test current {found.test_current}",
                    mark=Mark(sample.status), source=sample.source, note=sample.note)


def _limit(key: str, quantity: str, protection: str, spec: StepSpec) -> tuple[StepSpec, ...]:
    for row in REGIME_LIMITS:
        if (row.profile, row.quantity, row.protection) == (key, quantity, protection):
            least = quantity == "insulation"
            return (replace(spec, lower=row.value if least else None, upper=None if least else row.value,
                            mark=Mark(row.status), source=row.source, note="" if row.note == "500 V DC" else row.note),)
    return ()


def _insulation(applies: Applies) -> StepSpec:
    return StepSpec(StepKind.INSULATION, "Insulation resistance", "From live and neutral to the metal that can be touched.",
                    applies, Quantity.OHM, least_level=500.0, condition=HIGH_VOLTS)


def _current(kind: StepKind, applies: Applies, question: str) -> StepSpec:
    title = "Protective conductor current" if kind is StepKind.LEAKAGE else "Touch current"
    return StepSpec(kind, title, question, applies, Quantity.AMP_AC, condition="at mains voltage, both polarities")


def _measured(key: str, leakage: str, touch: tuple[tuple[str, Applies], ...]) -> tuple[StepSpec, ...]:
    steps: tuple[StepSpec, ...] = (_bond(key),)
    for protection, applies in (("I", Applies.I), ("II", Applies.II)):
        steps += _limit(key, "insulation", protection, _insulation(applies))
    steps += _limit(key, "earth leakage", leakage,
                    _current(StepKind.LEAKAGE, Applies.I, "In the protective conductor, the amp working."))
    for protection, applies in touch:
        steps += _limit(key, "touch", protection,
                        _current(StepKind.TOUCH, applies, "From metal that can be touched, the amp working."))
    return steps


_CLASS_II = (("II", Applies.II),)
_UL_INSULATION = (StepSpec(
    StepKind.INSULATION, "Insulation resistance", "From both supply leads to the metal that can be touched.", Applies.ANY,
    Quantity.OHM, lower=1e6, least_level=500.0, condition=HIGH_VOLTS, mark=Mark.MEMORY, source=PRACTICE),)


def _regime(key: str, name: str, where: str, *, leakage: str = "I",
            touch: tuple[tuple[str, Applies], ...] = _CLASS_II, more: tuple[StepSpec, ...] = ()) -> Regime:
    edition = next(profile.edition for profile in BOND_PROFILES if profile.id == key)
    steps = LOOKED_AT + _measured(key, leakage, touch)[:1] + more + _measured(key, leakage, touch)[1:] + WORKS
    return Regime(key, name, edition, where, steps)


SHIPPED: tuple[Regime, ...] = (
    _regime("vde_0701_0702", "VDE 0701-0702", "Germany, until EN 50678 and EN 50699"),
    _regime("en_50678", "EN 50678, after repair", "Europe"),
    _regime("en_50699", "EN 50699, recurrent", "Europe"),
    _regime("as_nzs_3760", "AS/NZS 3760, in service", "Australia and New Zealand"),
    _regime("as_nzs_5762", "AS/NZS 5762, after repair", "Australia and New Zealand"),
    # An amp that is carried about is taken as portable, the stricter of the two figures for class I.
    _regime("iet", "IET Code of Practice", "United Kingdom", leakage="I portable"),
    _regime("ul", "US practice, UL family", "United States", leakage="none",
            touch=(("3-wire portable", Applies.I), ("2-wire", Applies.II)), more=_UL_INSULATION),
)
