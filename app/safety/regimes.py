"""The profiles that ship: limits of published regimes as data, each with its source and how well it is known. Pure.

A limit marked M is from memory; the document named is where the owner confirms it. One that was seen in an edition which a
newer one has replaced is marked superseded and counts like it. Observations are common practice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from app.electrics import BOND_PROFILES, REGIME_LIMITS, bond_profile
from app.measuring.rules import Quantity
from app.safety.rules import Applies, Mark, StepKind

# The least current that each regime’s earth test is done with, in A, as its entry in BOND_PROFILES says it (the German and
# European ones seen, the others from memory); UL names none that was seen.
LEAST_BOND_A = {"vde_0701_0702": 0.2, "en_50678": 0.2, "en_50699": 0.2, "iet": 0.02, "iet_5": 0.1, "as_nzs_3760": 0.1,
                "as_nzs_5762": 0.1}
WITHOUT_THE_LEAD = frozenset({"ul"})  # its limit is for the appliance alone
SKILLED = frozenset({"vde_0701_0702", "en_50678", "en_50699", "as_nzs_3760", "as_nzs_5762"})
ISOLATED_INPUTS = frozenset({"en_50678", "en_50699"})
PRACTICE = "common practice, no source"
HIGH_VOLTS = "500 V DC, live and neutral joined, the amp’s own switch on"
READ_ON = date(2026, 11, 26)  # the day on which the sources were last looked for and read
REVISION = 2  # of the steps and limits below; raised whenever one changes
CHANGED = ("A question whether a mains pin joins the chassis or the signal earth; polarity also where the plug fits both ways "
           "round; class I: bare metal that is not joined to earth; editions that were replaced are marked so.")


@dataclass(frozen=True)
class StepSpec:
    """One step of a profile. Limits in the quantity's unit; `rule` names the regime that computes the bond limit.

    `absent`: what may be said instead of a reading where the amp has no such part; empty where it always has one.
    """

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
    absent: str = ""


@dataclass(frozen=True)
class Regime:
    """A profile as it ships.

    `replaced` says what has taken the place of its edition, `replaced_by` under which key that ships. `revision` counts the
    changes of its steps and limits, `changed` says what the last one was. `read_on`: when its sources were read.
    """

    key: str
    name: str
    edition: str
    where: str
    steps: tuple[StepSpec, ...]
    revision: int = REVISION
    changed: str = CHANGED
    replaced: str = ""
    replaced_by: str = ""
    read_on: date = READ_ON


def _seen(kind: StepKind, title: str, question: str, applies: Applies = Applies.ANY) -> StepSpec:
    return StepSpec(kind, title, question, applies, mark=Mark.PRACTICE)


LOOKED_AT: tuple[StepSpec, ...] = (
    _seen(StepKind.VISUAL, "Mains lead and plug",
          "Lead, plug and strain relief are sound, and are the ones going back with the amp."),
    _seen(StepKind.ISOLATION, "Mains apart from chassis",
          "Plug out, the amp’s switch on, an ohmmeter from each mains pin of the plug to the chassis and to signal earth: neither "
          "pin joins them; an isolating transformer feeds the amp."),
    _seen(StepKind.VISUAL, "Protective earth fixing",
          "The protective earth has a fixing of its own, with its washer, and is tight.", Applies.I),
    _seen(StepKind.VISUAL, "Double insulation", "Both layers of insulation are whole; no bare metal can be touched.", Applies.II),
    _seen(StepKind.VISUAL, "Case", "Assembled in its cabinet; every cover and guard is on and no opening admits the test finger."),
    _seen(StepKind.VISUAL, "Heat, liquid, loose parts", "No trace of scorching or liquid; nothing rattles when it is turned."),
    _seen(StepKind.VISUAL, "Marking", "Mains voltage, power and warnings can be read and are right."),
    _seen(StepKind.FUSE, "Fuse", "The fuse fitted is the one marked: type, amperes, volts. Enter what is fitted."),
    _seen(StepKind.POLARITY, "Polarity",
          "A plug that fits one way only: the live conductor goes through fuse and switch first. A plug that fits either way "
          "round: the switch breaks both conductors."),
)
WORKS: tuple[StepSpec, ...] = (
    _seen(StepKind.FUNCTIONAL, "Safe function", "Switches, standby and every protective part do what they are for."),
)
_WHO = _seen(StepKind.VISUAL, "Who tests", "Whoever does this test is an electrically skilled person by the law of this place.")
_LEAD_EARTH = _seen(StepKind.VISUAL, "Earth of the lead",
                    "The lead’s earth conductor joins plug and amp while the lead is bent: the limit below leaves the lead out.",
                    Applies.I)
_INPUTS = StepSpec(
    StepKind.FUNCTIONAL, "Leakage at isolated inputs",
    "No input or output is isolated from earth; or the leakage current at each was measured as the standard asks and lies under "
    "its limit. Write down which.", mark=Mark.MEMORY,
    source="EN 50678/50699 ask for it (elektro.net on recurrent testing, for EN 50699); its limit was not seen")


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
                            mark=Mark(row.status), source=row.source,
                            note=spec.note or ("" if row.note == "500 V DC" else row.note)),)
    return ()


def _insulation(applies: Applies) -> StepSpec:
    return StepSpec(StepKind.INSULATION, "Insulation resistance", "From live and neutral to the metal that can be touched.",
                    applies, Quantity.OHM, least_level=500.0, condition=HIGH_VOLTS)


def _current(kind: StepKind, applies: Applies, question: str) -> StepSpec:
    title = "Protective conductor current" if kind is StepKind.LEAKAGE else "Touch current"
    return StepSpec(kind, title, question, applies, Quantity.AMP_AC, condition="at mains voltage, both polarities")


_EARTH_OPEN = replace(
    _current(StepKind.TOUCH, Applies.I, "From metal that can be touched, the amp working, its protective earth opened at the "
                                        "plug by the tester; both polarities, the amp’s switch on and off."),
    title="Touch current, earth open at the plug", condition="at mains volts, both polarities, earth open at the plug",
    note="With the earth closed this reading proves nothing. Not before earth and insulation have passed; not with anything "
         "else joined to the amp; nobody touches metal, and the earth is closed again before anything else")
_NO_SUCH_METAL = "Looked for: all bare metal that can be touched is joined to earth"
_UNEARTHED_INSULATION = replace(
    _insulation(Applies.I), title="Insulation of metal not joined to earth", absent=_NO_SUCH_METAL,
    question="From live and neutral to each bare metal part that is not joined to the protective earth.",
    note="bare metal that is not joined to earth")
_UNEARTHED_TOUCH = replace(
    _current(StepKind.TOUCH, Applies.I, "From each bare metal part that is not joined to the protective earth, the amp working."),
    title="Touch current of metal not joined to earth", absent=_NO_SUCH_METAL, note="bare metal that is not joined to earth")
_UL_INSULATION = (StepSpec(
    StepKind.INSULATION, "Insulation resistance", "From both supply leads to the metal that can be touched.", Applies.ANY,
    Quantity.OHM, lower=1e6, least_level=500.0, condition=HIGH_VOLTS, mark=Mark.MEMORY, source=PRACTICE),)


def _insulations(key: str) -> tuple[StepSpec, ...]:
    return (*_limit(key, "insulation", "I", _insulation(Applies.I)),
            *_limit(key, "insulation", "I unearthed", _UNEARTHED_INSULATION),
            *_limit(key, "insulation", "II", _insulation(Applies.II)))


def _currents(key: str, leakage: str) -> tuple[StepSpec, ...]:
    # The touch figure that VDE and EN name for class I is for metal that is not joined to earth: the rest is at earth's potential.
    unearthed = "I" if key in ("vde_0701_0702", "en_50678", "en_50699") else "I unearthed"
    return (*_limit(key, "earth leakage", leakage,
                    _current(StepKind.LEAKAGE, Applies.I, "In the protective conductor, the amp working.")),
            *_limit(key, "touch", unearthed, _UNEARTHED_TOUCH),
            *_limit(key, "touch", "II", _current(StepKind.TOUCH, Applies.II, "From metal that can be touched, the amp working.")))


def _american() -> tuple[StepSpec, ...]:
    return (*_UL_INSULATION, *_limit("ul", "touch", "3-wire portable", _EARTH_OPEN),
            *_limit("ul", "touch", "2-wire",
                    _current(StepKind.TOUCH, Applies.II, "From metal that can be touched, the amp working.")))


def _regime(key: str, name: str, where: str, *, leakage: str = "I", replaced_by: str = "") -> Regime:
    found = next(one for one in BOND_PROFILES if one.id == key)
    measured = _american() if key == "ul" else (*_insulations(key), *_currents(key, leakage))
    steps = (*((_WHO,) if key in SKILLED else ()), *LOOKED_AT, *((_LEAD_EARTH,) if key in WITHOUT_THE_LEAD else ()),
             _bond(key), *measured, *((_INPUTS,) if key in ISOLATED_INPUTS else ()), *WORKS)
    if found.replaced:
        steps = tuple(replace(one, mark=Mark.SUPERSEDED) if one.mark is Mark.SEEN else one for one in steps)
    return Regime(key, name, found.edition, where, steps, replaced=found.replaced, replaced_by=replaced_by)


SHIPPED: tuple[Regime, ...] = (
    _regime("vde_0701_0702", "VDE 0701-0702", "Germany, until EN 50678 and EN 50699", replaced_by="en_50678"),
    _regime("en_50678", "EN 50678, after repair", "Europe"),
    _regime("en_50699", "EN 50699, recurrent", "Europe"),
    _regime("as_nzs_3760", "AS/NZS 3760, in service", "Australia and New Zealand"),
    _regime("as_nzs_5762", "AS/NZS 5762, after repair",
            "Australia and New Zealand; New Zealand’s Electricity (Safety) Regulations 2010, reg 90, ask for it after a repair"),
    # An amp that is carried about is taken as portable, the stricter of the two figures for class I.
    _regime("iet", "IET Code of Practice", "United Kingdom, until the 5th edition", leakage="I portable", replaced_by="iet_5"),
    _regime("iet_5", "IET Code of Practice, 5th edition", "United Kingdom"),
    _regime("ul", "US practice, UL family", "United States"),
)


def shipped_as(key: str) -> Regime | None:
    """The regime that ships under this key; None for a profile of the shop's own."""
    return next((one for one in SHIPPED if one.key == key), None)
