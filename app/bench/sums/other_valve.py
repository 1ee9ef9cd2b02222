"""A valve that is not in the table: its limits are typed, with the sheet they were read from.

A limit typed without its sheet is worth what memory is worth: it never stands alone behind a green word.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from app.bench.sums.kinds import Field, Given
from app.electrics import ElectricsError, Valve, valve
from app.electrics.valves import Ratings, Rectifier, Source
from app.electrics.valves.kinds import Kind
from app.electrics.valves.lookup import all_names

OTHER = "other"
NO_CURVES = "none"
OTHER_CHOICE = (OTHER, "other valve: type its limits")
_FOLD = "Other valve: its limits"
_SHEET = Field("other_sheet", "Sheet they were read from", "words", "", optional=True, fold=_FOLD,
               hint="Issuer and type. Without it no limit passes anything.")
_NAME = Field("other_name", "Type of the other valve", "words", "", optional=True, fold=_FOLD)
_HEATERLESS = Source("M", "not asked for here")


def choices(kind: Kind, *, curves: bool = False) -> tuple[tuple[str, str], ...]:
    """The valves of a kind to choose from, each with its second name where that is another one.

    `curves`: only those whose curves are known. Pentodes for small signals are no output valves and are left out.
    """
    found = []
    for entry in map(valve, all_names()):
        if entry.kind != kind or entry.small or (curves and entry.model is None):
            continue
        other = next((name for name in entry.also if name[:3] != entry.name[:3]), "")
        found.append((entry.name, f"{entry.name} / {other}" if other else entry.name))
    return tuple(found)


def offered(kind: Kind) -> tuple[tuple[str, str], ...]:
    """The valves of a kind, and the other one at the end."""
    return (*choices(kind), OTHER_CHOICE)


NAME_FIELDS: tuple[Field, ...] = (_NAME, _SHEET)


def limit_fields(kind: Kind, *, curves: bool = True) -> tuple[Field, ...]:
    """What is asked of another amplifying valve; `curves`: whose curves it shares, where the sum needs any."""
    fields = [_NAME, _typed("other_w", "Anode dissipation, at most", "W"), _typed("other_v", "Anode voltage, at most", "V")]
    if kind == "pentode":
        fields.append(_typed("other_screen_w", "Screen dissipation, at most", "W"))
    if curves:
        fields.append(Field("other_like", "Its curves are those of", "choice", NO_CURVES,
                            options=((NO_CURVES, "none known"), *choices(kind, curves=True)), fold=_FOLD,
                            hint="Only if its sheet prints the same characteristics."))
    return (*fields, _SHEET)


RECTIFIER_FIELDS: tuple[Field, ...] = (
    _NAME,
    Field("other_drop_v", "Drop of a plate", "quantity", "", "V", "As the sheet has it, at the current below.", optional=True,
          fold=_FOLD),
    Field("other_drop_a", "at this current", "quantity", "", "A", optional=True, fold=_FOLD),
    Field("other_mean_a", "Mean current, at most", "quantity", "", "A", "Of the whole valve.", optional=True, fold=_FOLD),
    Field("other_peak_a", "Peak of a plate, at most", "quantity", "", "A", optional=True, fold=_FOLD),
    Field("other_piv_v", "Reverse voltage, at most", "quantity", "", "V", optional=True, fold=_FOLD),
    Field("other_farad", "First capacitor, at most", "quantity", "", "F", optional=True, fold=_FOLD), _SHEET)


def asked(given: Given, kind: Kind, *, curves: bool = True) -> Valve:
    """The valve that was chosen, or one made of the limits that were typed.

    ElectricsError beside the field where a limit that the sum needs was not typed, or (`curves`) no curves were named.
    """
    if given.word("valve") != OTHER:
        return valve(given.word("valve"))
    watt = _needed(given, "other_w", "entered, from the sheet of that type")
    like = given.word("other_like") or NO_CURVES
    if curves and like == NO_CURVES:
        raise ElectricsError("other_like", like, "a valve with the same curves: without curves this cannot be calculated")
    ratings = Ratings("typed here", given.maybe("other_v"), watt, _source(given),
                      screen_w=given.maybe("other_screen_w") if kind == "pentode" else None)
    for name in ("other_v", "other_screen_w"):
        _positive(given, name)
    name = given.word("other_name").strip() or "other valve"
    if like == NO_CURVES:
        return Valve(name, (), kind, "octal", (), MappingProxyType({}), _HEATERLESS, ratings)
    donor = valve(like)
    source = Source("T", f"the curves of the {donor.name}, as chosen here")
    return replace(donor, name=name, also=(), ratings=ratings, points=donor.points, model_source=source, heaters=(), remark="")


def asked_by_name(given: Given) -> Valve:
    """The output valve that was chosen, or one of which the name alone is known here."""
    if given.word("valve") != OTHER:
        return valve(given.word("valve"))
    return Valve(given.word("other_name").strip() or "other valve", (), "pentode", "octal", (), MappingProxyType({}), _HEATERLESS)


def asked_rectifier(given: Given) -> Valve | None:
    """The rectifier valve that was chosen or typed; None for silicon diodes."""
    if given.word("drop") == "silicon":
        return None
    if given.word("drop") != OTHER:
        return valve(given.word("drop"))
    words = "entered, from the sheet of that type"
    volt, ampere = _needed(given, "other_drop_v", words), _needed(given, "other_drop_a", words)
    mean, peak = _needed(given, "other_mean_a", words), _needed(given, "other_peak_a", words)
    sheet = Rectifier(ampere / volt**1.5, _positive(given, "other_piv_v"), mean, peak, volt, ampere, _source(given),
                      _positive(given, "other_farad"), typed=True)
    return Valve(given.word("other_name").strip() or "other valve", (), "rectifier", "octal", (), MappingProxyType({}), _HEATERLESS,
                 rectifier=sheet)


def _typed(name: str, label: str, unit: str) -> Field:
    return Field(name, label, "quantity", "", unit, optional=True, fold=_FOLD)


def _source(given: Given) -> Source:
    sheet = given.word("other_sheet").strip()
    return Source("T", f"typed here, source: {sheet}") if sheet else Source("M", "typed here, no sheet named")


def _needed(given: Given, name: str, words: str) -> float:
    found = _positive(given, name)
    if found is None:
        raise ElectricsError(name, None, words)
    return found


def _positive(given: Given, name: str) -> float | None:
    """What was typed, above zero; None where the field was left empty."""
    found = given.maybe(name)
    if found is not None and not 1e-15 < found < 1e9:
        raise ElectricsError(name, found, "above 0")
    return found
