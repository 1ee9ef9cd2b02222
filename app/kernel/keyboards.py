"""Which keyboard a tablet brings up for a field: by the kind of field, so that no page can choose another.

`numeric` has figures and `decimal` a point as well, and that is all: no letter on any device, no minus on some. A plain number that
cannot be negative gets them. Bench notation gets the whole keyboard, since 47u, 4k7 and >200M need letters and signs, and never
a capital of the device's own making: m is a thousandth, M a million.
"""

from __future__ import annotations

from wtforms import Field

NOTATION = {"inputmode": "text", "autocapitalize": "none", "autocorrect": "off", "autocomplete": "off", "spellcheck": "false"}


def keyboard(field: Field) -> dict[str, str]:
    """The attributes of an input of this field's kind (its `keys`: 'numeric', 'decimal' or 'notation'); none for other fields."""
    keys = getattr(field, "keys", "")
    if keys == "notation":
        return dict(NOTATION)
    if not keys:
        return {}
    return {"inputmode": "text" if _may_be_negative(field, counts=keys == "numeric") else keys}


def _may_be_negative(field: Field, *, counts: bool) -> bool:
    """What its validators say of where its numbers begin; without a word of theirs counts and sums of money begin at nothing."""
    least = [getattr(one, name) for one in field.validators for name in ("min", "low") if getattr(one, name, None) is not None]
    return min(least) < 0 if least else not counts and field.type != "MoneyField"
