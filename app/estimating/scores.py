"""Marks for a forecast: lower is better, and only an honest forecast gets the lowest on average."""

from __future__ import annotations

from app.estimating.errors import EstimateError, number, share


def interval_score(low: float, high: float, actual: float, *, alpha: float = 0.2) -> float:
    """Winkler's score of an interval that claims to hold 1 − alpha of actuals: width, and 2/alpha for each unit
    that the actual lies outside. Source: Gneiting and Raftery, JASA 102 (2007) 359 (from memory).
    """
    bottom, top, value = number("low", low), number("high", high), number("actual", actual)
    if top < bottom:
        raise EstimateError("high", high, f"not below low ({low!r})")
    missed = max(bottom - value, 0.0, value - top)
    return top - bottom + 2 / share("alpha", alpha) * missed


def pinball(forecast: float, actual: float, *, q: float) -> float:
    """Quantile score of a forecast that claims to be passed with probability 1 − q: q for each unit that the
    actual lies above it, 1 − q for each below. Source: Koenker and Bassett, Econometrica 46 (1978) 33 (from memory).
    """
    beyond = number("actual", actual) - number("forecast", forecast)
    level = share("q", q)
    return level * beyond if beyond >= 0 else (level - 1) * beyond
