"""What a page asks the database more than once is asked once: kept beside the session that read it, until that session writes.

One page gathers from many rooms, and each gate and each sheet asks for the same few lists. `@cached_until_write` on the
query keeps the answer; a flush, a commit, a rollback or a statement that writes lets go of every answer, and nothing is
kept while something is waiting to be written. Answers are shared: nobody changes a list that a kept query gave.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any, Generic, ParamSpec, TypeVar

import sqlalchemy as sa
from sqlalchemy.orm import ORMExecuteState, Session

from app.db import Base, session

P = ParamSpec("P")
R = TypeVar("R")
_KEPT = "kept answers"


class CachedUntilWrite(Generic[P, R]):
    """A query whose answers are kept. Arguments are records, told apart by their ids, or plain values."""

    def __init__(self, query: Callable[P, R]) -> None:
        self._query = query
        functools.update_wrapper(self, query)

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
        current = session()
        if current.new or current.deleted or current.dirty:
            return self._query(*args, **kwargs)
        key = self._key(args, kwargs)
        kept = _kept(current)
        if key not in kept:
            answer = self._query(*args, **kwargs)
            _kept(current)[key] = answer
            return answer
        found: R = kept[key]
        return found

    def _key(self, args: tuple[Any, ...], kwargs: dict[str, Any]) -> tuple[Any, ...]:
        return (self._query, *map(_plain, args), *((name, _plain(kwargs[name])) for name in sorted(kwargs)))


def cached_until_write(query: Callable[P, R]) -> CachedUntilWrite[P, R]:
    """Decorate a query that several parts of one page ask."""
    return CachedUntilWrite(query)


def forget(current: Session) -> None:
    """Let go of every answer kept beside this session."""
    current.info.pop(_KEPT, None)


def _plain(value: Any) -> Any:
    return (type(value), value.id) if isinstance(value, Base) else value  # type: ignore[attr-defined]


def _kept(current: Session) -> dict[Any, Any]:
    found: dict[Any, Any] = current.info.setdefault(_KEPT, {})
    return found


def _let_go(current: Session, *_more: object) -> None:
    forget(current)


def _let_go_when_writing(asked: ORMExecuteState) -> None:
    if not asked.is_select:
        _let_go(asked.session)


for _moment in ("after_flush", "after_commit", "after_rollback", "after_soft_rollback"):
    sa.event.listen(Session, _moment, _let_go)
sa.event.listen(Session, "do_orm_execute", _let_go_when_writing)
