"""What somebody typed as a reading, read, or refused because no instrument can have shown it. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass

from app.electrics import parse
from app.errors import BadInput
from app.measuring.rules import Quantity, Relation

ZERO = "It shows 0"


@dataclass(frozen=True)
class Typed:
    """What somebody typed, read: '441', '>200M', '<0.05m'."""

    value: float
    relation: Relation


# A magnitude or an effective value: a minus there is a slip of the pen or of the leads.
NEVER_NEGATIVE = frozenset({Quantity.VOLT_AC, Quantity.OHM, Quantity.AMP_AC, Quantity.WATT, Quantity.HERTZ, Quantity.FARAD})
# What a meter shows with its leads joined, with a null taken on the part, or with nothing connected.
DOUBTED_AT_ZERO = frozenset({Quantity.OHM, Quantity.AMP_DC, Quantity.AMP_AC})
_BOUNDS = ((">=", Relation.MORE), ("≥", Relation.MORE), (">", Relation.MORE), ("<=", Relation.LESS), ("≤", Relation.LESS),
           ("<", Relation.LESS))
_OVER_RANGE = re.compile(r"[+>]?\s*o\.?\s*l\.?", re.IGNORECASE)


def read_typed(text: str, quantity: Quantity, *, range_end: float | None = None, zero_is_real: bool = False) -> Typed:
    """Read a reading in bench notation: '441', '>200M', '≥ 200M', '<0.05m', 'OL'.

    `range_end` is the end of the meter's highest range for this quantity, in its unit: what OL is more than.
    ElectricsError says what cannot be read and where; BadInput refuses what cannot be: a negative magnitude, a zero
    that nobody has looked at twice (`zero_is_real`), an OL of a meter whose range is not known.
    """
    plain = text.strip()
    if _OVER_RANGE.fullmatch(plain):
        if range_end is None:
            raise BadInput("OL says only that the range has ended. Enter it as more than that range’s end, such as >200M.", "typed")
        return Typed(range_end, Relation.MORE)
    sign, relation = next(((mark, found) for mark, found in _BOUNDS if plain.startswith(mark)), ("", Relation.IS))
    found = Typed(parse(plain.removeprefix(sign), unit=quantity.unit), relation)
    if found.value < 0 and quantity in NEVER_NEGATIVE:
        raise BadInput(f"{quantity.word.capitalize()} cannot be negative. Check the leads and the meter’s null, then read again.",
                       "typed")
    if found.value == 0 and relation is Relation.LESS:
        raise BadInput("Nothing is less than 0 here. Enter < and the smallest figure that the meter can show.", "typed")
    if found.value == 0 and quantity in DOUBTED_AT_ZERO and not zero_is_real:
        raise BadInput(f"{ZERO} {quantity.unit}: are the leads joined, nulled on the part, or not connected? Look, then read "
                       "again; if it truly shows 0, tick that below.", "typed")
    return found
