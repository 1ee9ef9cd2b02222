"""Arguments that are each in range, but together too extreme for a float to carry the result."""

from __future__ import annotations

import dataclasses
import functools
import math
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
            result = function(*args, **kwargs)
        except (OverflowError, ZeroDivisionError):
            pass
        else:
            if _is_finite(result):
                return result
        given = ", ".join([*map(repr, args), *(f"{name}={value!r}" for name, value in kwargs.items())])
        raise ElectricsError(f"{function.__name__}({given})", math.inf, "a finite result") from None

    return checked


def _is_finite(result: Any) -> bool:
    if isinstance(result, float):
        return math.isfinite(result)
    if isinstance(result, tuple):
        return all(_is_finite(part) for part in result)
    if dataclasses.is_dataclass(result) and not isinstance(result, type):
        return all(_is_finite(getattr(result, field.name)) for field in dataclasses.fields(result))
    return True
