"""The mains as it is now against the tap that is set: every winding follows it."""

from __future__ import annotations

from app.bench.sums.kinds import Field, Given, tell
from app.electrics import ElectricsError, mains_factor

_FOLD = "Mains now, against the tap"
MAINS_FIELDS: tuple[Field, ...] = (
    Field("now_v", "Mains voltage now", "quantity", "", "V", optional=True, fold=_FOLD,
          hint="As measured. Leave both empty where the voltage above was measured now."),
    Field("set_tap_v", "Tap that is set", "quantity", "", "V", "The voltage above is the one at this mains voltage.", optional=True,
          fold=_FOLD, covers=("tap_v",)),
)


def mains_ratio(given: Given) -> float:
    """What a winding's nominal volts are multiplied by: mains now over tap; 1 where neither was entered."""
    now, tap = given.maybe("now_v"), given.maybe("set_tap_v")
    if now is None and tap is None:
        return 1.0
    if now is None or tap is None:
        raise ElectricsError("now_v" if now is None else "set_tap_v", None, "entered too: one without the other says nothing")
    try:
        return mains_factor(measured_v=now, tap_v=tap)
    except ElectricsError as wrong:
        raise ElectricsError("now_v" if wrong.argument == "measured_v" else "set_tap_v", wrong.value, wrong.allowed) from wrong


def mains_notes(given: Given, volts: float) -> tuple[str, ...]:
    """What the winding was taken at, in words; nothing where the mains was not entered."""
    ratio = mains_ratio(given)
    if given.maybe("now_v") is None:
        return ()
    return (f"Taken at {tell(volts * ratio, 'V')}: {tell(given.number('now_v'), 'V')} of mains voltage on the "
            f"{tell(given.number('set_tap_v'), 'V')} tap.",)
