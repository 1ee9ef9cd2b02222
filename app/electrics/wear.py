"""When an aluminium electrolytic counts as worn: the end-of-test criteria its data sheet is tested against."""

from __future__ import annotations

from app.electrics.errors import not_negative, one_of, positive

CAPACITANCE_CHANGE = 0.15
LOSS_FACTOR = 1.3
LEAKAGE_FACTOR = {"endurance": 1.0, "storage": 2.0}


def worn(
    *,
    nominal_farad: float,
    farad: float,
    loss_limit: float,
    loss: float,
    leakage_limit_a: float,
    leakage_a: float,
    after: str = "endurance",
) -> tuple[str, ...]:
    """Which of "capacitance", "loss" and "leakage" are past the end-of-test criteria; none of them: empty.

    Capacitance within 15 % of nominal, loss factor (tan delta) at most 1.3 times its limit, leakage (A) at
    most its limit, twice that after storage; figures exactly on a criterion meet it. nominal_farad and limits
    above zero, measured values zero or more; after is endurance or storage. One maker's figures for the
    IEC 60384-4 endurance test (data sheet 28325, p. 11, seen); another maker's may differ. A part that meets
    them is not thereby safe or good for years. Raises ElectricsError outside the ranges.
    """
    one_of("after", after, tuple(LEAKAGE_FACTOR))
    nominal, loss_top = positive("nominal_farad", nominal_farad), positive("loss_limit", loss_limit)
    leak_top = positive("leakage_limit_a", leakage_limit_a) * LEAKAGE_FACTOR[after]
    # A hair of room: 0.85 of 100 µF is 15 % off only to the last place of a float.
    change = abs(not_negative("farad", farad) - nominal) / nominal
    past = {
        "capacitance": change > CAPACITANCE_CHANGE * (1 + 1e-12),
        "loss": not_negative("loss", loss) > LOSS_FACTOR * loss_top * (1 + 1e-12),
        "leakage": not_negative("leakage_a", leakage_a) > leak_top * (1 + 1e-12),
    }
    return tuple(name for name, is_past in past.items() if is_past)
