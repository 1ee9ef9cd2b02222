"""Arguments that are each in range, but together too extreme for a float to carry the result."""

from __future__ import annotations

import contextlib
import dataclasses
import functools
import math
import sys
from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar

from app.electrics.errors import ElectricsError

P = ParamSpec("P")
R = TypeVar("R")


def finite_result(function: Callable[P, R]) -> Callable[P, R]:
    """Make a sum refuse, as ElectricsError, to return infinity or NaN or to overflow on the way."""

    @functools.wraps(function)
    def checked(*args: P.args, **kwargs: P.kwargs) -> R:
        try:
            with _numpy_quiet():
                result = function(*args, **kwargs)
        except ArithmeticError:
            pass
        else:
            if _is_finite(result):
                return result
        given = ", ".join([*map(_short, args), *(f"{name}={_short(value)}" for name, value in kwargs.items())])
        raise ElectricsError(f"{function.__name__}({given})", math.inf, "a finite result") from None

    return checked


def _numpy_quiet() -> contextlib.AbstractContextManager[Any]:
    """numpy's own numbers warn where Python's raise; what they come to is judged here anyway."""
    numpy = sys.modules.get("numpy")
    return contextlib.nullcontext() if numpy is None else numpy.errstate(all="ignore")


def _short(value: object) -> str:
    said = repr(value)
    return said if len(said) <= 60 else said[:57] + "..."


def _is_finite(result: Any) -> bool:
    if isinstance(result, float):
        return math.isfinite(result)
    if getattr(getattr(result, "dtype", None), "kind", "") == "f":  # an array
        return bool(sys.modules["numpy"].isfinite(result).all())
    if isinstance(result, tuple):
        return all(_is_finite(part) for part in result)
    if dataclasses.is_dataclass(result) and not isinstance(result, type):
        return all(_is_finite(getattr(result, field.name)) for field in dataclasses.fields(result))
    return True
