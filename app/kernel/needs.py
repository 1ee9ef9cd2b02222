"""What a view needs of whoever asks for it: nothing, or what the guard of app.access put on it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar

from flask import Flask

P = ParamSpec("P")
R = TypeVar("R")


def public(view: Callable[P, R]) -> Callable[P, R]:
    """Decorate a view that needs no sign-in."""
    view.needs = None  # type: ignore[attr-defined]
    return view


def never_kept(view: Callable[P, R]) -> Callable[P, R]:
    """Decorate a view whose form is never kept to be sent later: of one's own sign-in, or a button that says something."""
    view.never_kept = True  # type: ignore[attr-defined]
    return view


def is_never_kept(view: Any) -> bool:
    """Whether it was marked so."""
    return getattr(view, "never_kept", False)


def unguarded(app: Flask) -> list[str]:
    """Endpoints that name no need and are not marked public: there must be none."""
    return [name for name, view in app.view_functions.items() if not hasattr(view, "needs")]


def needs(view: Any) -> Any:
    """What a view needs; None if it is public."""
    return view.needs
