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
    return {"inputmode": keys if keys == "decimal" and field.type == "MoneyField" or _never_negative(field) else "text"}


def _never_negative(field: Field) -> bool:
    """Whether a validator says where its numbers begin, at zero or above."""
    least = [getattr(one, name) for one in field.validators for name in ("min", "low") if getattr(one, name, None) is not None]
    return any(one >= 0 for one in least)
