"""Monte Carlo: how far a result spreads when every part wanders within its tolerance."""

from __future__ import annotations

import dataclasses
import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from numbers import Real
from typing import Any

from app.electrics.arrays import Array, np
from app.electrics.errors import ElectricsError, finite, not_negative, one_of, whole, yes_or_no

DISTRIBUTIONS = ("uniform", "normal")


@dataclass(frozen=True)
class Spread:
    """Spread of one result: mean, standard deviation, extremes seen, percentiles 5, 50, 95 and the samples."""

    nominal: float
    mean: float
    sd: float
    low: float
    high: float
    p05: float
    p50: float
    p95: float
    samples: Array = dataclasses.field(repr=False, compare=False)

    def share_outside(self, *, lower: float | None = None, upper: float | None = None) -> float:
        """Share of samples below lower or above upper; a limit is inclusive."""
        outside = np.zeros(self.samples.shape, dtype=bool)
        if lower is not None:
            outside |= self.samples < finite("lower", lower)
        if upper is not None:
            outside |= self.samples > finite("upper", upper)
        return float(outside.mean())


def simulate(
    solver: Callable[..., Any],
    *,
    nominal: Mapping[str, Any],
    tolerances: Mapping[str, float],
    samples: int = 10_000,
    seed: int = 1,
    distribution: str = "uniform",
    arrays: bool = True,
) -> dict[str, Spread]:
    """Spread of every result of `solver` when its keyword arguments wander within their tolerances.

    solver is called with the keywords of `nominal`: those with a tolerance (a fraction, 0 to below 1) as
    arrays of `samples` values, the rest as plain numbers; and once with the nominal values. It returns an
    array or number (named "value" here), a mapping of names to them, or a dataclass. arrays=False calls it
    once a sample instead, for a solver that takes single numbers only. "uniform" fills the tolerance;
    "normal" takes it as three standard deviations, cut there. Same seed, same spread. samples 2 to 1,000,000.
    Raises ElectricsError for a tolerance without nominal, bad ranges, or results that are not finite.
    """
    _check_solver(solver, nominal)
    _check(nominal, tolerances, samples, seed)
    at_once = yes_or_no("arrays", arrays)
    one_of("distribution", distribution, DISTRIBUTIONS)
    draws = _draw(nominal, tolerances, samples, seed, distribution)
    centre = _named(solver(**nominal))
    if at_once:
        raw = _named(solver(**{**nominal, **draws}))
    else:
        rows = [
            _named(solver(**{**nominal, **{k: float(v[i]) for k, v in draws.items()}}))
            for i in range(samples)
        ]
        raw = {name: np.array([row[name] for row in rows]) for name in rows[0]}
    return {name: _spread(name, float(centre[name]), raw[name], samples) for name in centre}


def _check_solver(solver: object, nominal: object) -> None:
    """Refuse what cannot be called with these keywords, before it is called with arrays of them."""
    if not callable(solver):
        raise ElectricsError("solver", solver, "a function that returns numbers")
    if not isinstance(nominal, Mapping):
        raise ElectricsError("nominal", nominal, "values by the names of solver's arguments")
    try:
        inspect.signature(solver).bind(**nominal)
    except TypeError as wrong:
        raise ElectricsError("nominal", sorted(map(str, nominal)), f"the arguments of solver ({wrong})") from None


def _check(nominal: Mapping[str, Any], tolerances: Mapping[str, float], samples: int, seed: int) -> None:
    for name, value in nominal.items():
        if not isinstance(value, bool) and isinstance(value, Real):
            finite(name, value)  # layouts and other words go through untouched
    if not isinstance(tolerances, Mapping):
        raise ElectricsError("tolerances", tolerances, "fractions by the names in nominal")
    for name, tolerance in tolerances.items():
        if name not in nominal:
            raise ElectricsError("tolerances", name, "for a name in nominal")
        finite(name, nominal[name])
        if not_negative(f"tolerance of {name}", tolerance) >= 1.0:
            raise ElectricsError(f"tolerance of {name}", tolerance, "a fraction from 0 to below 1")
    whole("samples", samples, 2, 1_000_000)
    whole("seed", seed, 0, 2**63 - 1)


def _draw(
    nominal: Mapping[str, Any], tolerances: Mapping[str, float], samples: int, seed: int, distribution: str
) -> dict[str, Array]:
    generator = np.random.default_rng(seed)
    draws: dict[str, Array] = {}
    for name in sorted(tolerances):  # by name, so that the order of the mapping does not change the spread
        if distribution == "uniform":
            unit = generator.uniform(-1.0, 1.0, samples)
        else:
            unit = np.clip(generator.standard_normal(samples) / 3.0, -1.0, 1.0)
        draws[name] = nominal[name] * (1.0 + tolerances[name] * unit)
    return draws


def _named(result: Any) -> dict[str, Any]:
    """Numeric results by name; words and missing values in a dataclass are left out."""
    if dataclasses.is_dataclass(result) and not isinstance(result, type):
        result = {field.name: getattr(result, field.name) for field in dataclasses.fields(result)}
    if not isinstance(result, Mapping):
        result = {"value": result}
    numbers = {str(k): v for k, v in result.items() if np.asarray(v).dtype.kind in "fiu"}
    if not numbers:
        raise ElectricsError("solver", type(result).__name__, "a function that returns numbers")
    return numbers


def _spread(name: str, nominal: float, raw: Any, samples: int) -> Spread:
    values = np.broadcast_to(np.asarray(raw, dtype=np.float64), (samples,)).copy()
    if not np.isfinite(values).all():
        raise ElectricsError(name, "a result that is not finite", "finite over the whole tolerance")
    values.flags.writeable = False
    p05, p50, p95 = (float(p) for p in np.percentile(values, (5.0, 50.0, 95.0)))
    return Spread(
        nominal, float(values.mean()), float(values.std(ddof=1)), float(values.min()), float(values.max()),
        p05, p50, p95, values,
    )  # fmt: skip
