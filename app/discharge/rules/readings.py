"""What a reading across a charged capacitor shows, and when a round of them shows the supply discharged. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from app.discharge.rules.listing import Capacitor, Supply
from app.electrics import ElectricsError
from app.errors import BadInput
from app.measuring.rules import Inputs, Kind, Quantity, Relation, Statement, Verdict, judged
from app.measuring.typed import Typed, read_typed

# What shows direct volts across a charged capacitor. The testers of the bench put volts or current out, and a capacitor
# tester is destroyed by a charge.
SHOWS_VOLTS = frozenset({Kind.MULTIMETER, Kind.OSCILLOSCOPE, Kind.OTHER})


def read_volts(text: str, capacitor: Capacitor, *, range_end: float, really: bool) -> Typed:
    """Volts across one capacitor as the meter shows them, red lead on the capacitor, black on the chassis.

    BadInput asks back what a dead meter, a clip that slipped or swapped leads would show, unless someone looked twice (`really`).
    """
    try:
        found = read_typed(text, Quantity.VOLT_DC, range_end=range_end)
    except ElectricsError as wrong:
        raise BadInput(str(wrong)) from wrong
    if found.value < 0 and found.relation is not Relation.IS:
        raise BadInput("Enter a bound without a sign, such as <0.1.")
    if found.value == 0 and not really:
        raise BadInput("It shows 0 V: is the meter on volts DC, are both clips on, did it show the known volts? "
                       "Look, then read again; if it truly shows 0, tick that below.")
    against = found.value > 0 if capacitor.supply is Supply.BIAS else found.value < 0
    if against and found.relation is Relation.IS and not really:
        sign = "negative" if capacitor.supply is Supply.BIAS else "positive"
        raise BadInput(f"The {capacitor.supply.value} supply is {sign}: are the leads swapped, or is it another capacitor? "
                       "Look, then read again; if it truly shows that, tick that below.")
    return found


def verdict(value: float, relation: Relation, uncertainty: float, limit_v: float) -> Verdict:
    """Pass only where the magnitude and the meter's uncertainty (V, k = 2) together are below the limit."""
    if relation is Relation.IS and abs(value) + uncertainty >= limit_v and abs(value) < limit_v:
        return Verdict.UNDECIDED
    if relation is Relation.IS and abs(value) >= limit_v:
        return Verdict.FAIL
    return judged(Inputs(abs(value), relation, None, limit_v, uncertainty)).verdict


def measures(kind: Kind, stated: Iterable[Statement], working_v: float) -> bool:
    """Whether an instrument can be put across such a capacitor: of a kind that shows volts DC, stated up to its working volts."""
    return kind in SHOWS_VOLTS and any(one.quantity is Quantity.VOLT_DC and one.up_to >= working_v for one in stated)


def why_not_shown(names: Sequence[str], found: Mapping[str, Verdict], *, proved_before: bool, proved_after: bool) -> str:
    """Why a round of readings does not show every capacitor of the list below the limit; empty if it does."""
    if lacking := [name for name in names if name not in found]:
        return f"Not read: {', '.join(lacking)}."
    if over := [name for name in names if found[name] is not Verdict.PASS]:
        return f"Not shown below the limit: {', '.join(over)}."
    if not proved_before or not proved_after:
        when = "before and after" if not proved_before and not proved_after else "before" if not proved_before else "after"
        return f"The meter was not proved {when}."
    return ""
