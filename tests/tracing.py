"""What services do while something is played: which functions ran, what each wrote, and what it entered in the journal.

The functions are found, not listed: everything public in a service of any room, and in any other module that writes to the journal.
"""

from __future__ import annotations

import functools
import importlib
import inspect
import pkgutil
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from types import ModuleType
from typing import Any

import sqlalchemy as sa
from flask import g, has_app_context

import app
from app.db import session
from app.journal import service as journal

WRITES = re.compile(r'\s*(?:INSERT INTO|UPDATE|DELETE FROM)\s+"?(\w+)')
# Kept beside the records by listeners, whatever is written; and the journal itself.
BESIDE = {"journal_entry", "order_outlook", "order_standing", "search_entry", "once_key"}
PATCHED = ("app.", "demo_data.", "tests.")


@dataclass(frozen=True)
class Call:
    """One call of a service: by name, the tables it wrote to and the events it entered, those of what it called included."""

    name: str
    tables: frozenset[str]
    events: frozenset[str]


@dataclass
class Trace:
    """What was called, in the order in which it ended."""

    calls: list[Call] = field(default_factory=list)
    _open: list[tuple[set[str], set[str]]] = field(default_factory=list)

    @property
    def driven(self) -> set[str]:
        """The functions that were called and did not refuse."""
        return {call.name for call in self.calls}

    @property
    def events(self) -> set[str]:
        """What was entered in the journal by any of them."""
        return {event for call in self.calls for event in call.events}

    def wrap(self, name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(function)
        def traced(*given: Any, **named: Any) -> Any:
            _flush()
            own: tuple[set[str], set[str]] = (set(), set())
            self._open.append(own)
            try:
                answer = function(*given, **named)
                _flush()
            finally:
                self._open.pop()
            self.calls.append(Call(name, frozenset(own[0]), frozenset(own[1])))
            return answer

        return traced

    def wrote(self, _connection: object, _cursor: object, statement: str, *_more: object) -> None:
        found = WRITES.match(statement)
        if found and found.group(1) not in BESIDE:
            for tables, _ in self._open:
                tables.add(found.group(1))

    def entered(self, event: str) -> None:
        for _, events in self._open:
            events.add(event)


def _flush() -> None:
    """What was written so far is the caller's."""
    if has_app_context() and g.get("db_writing"):
        session().flush()


@functools.cache
def services() -> dict[str, Callable[..., Any]]:
    """Every public function of a service or of another module that writes to the journal, by 'room.module.function'."""
    found = {}
    for module in modules():
        for name, function in vars(module).items():
            if inspect.isfunction(function) and not name.startswith("_") and function.__module__ == module.__name__:
                found[f"{module.__name__.removeprefix('app.')}.{name}"] = function
    return found


def modules() -> list[ModuleType]:
    """The services, and whoever else holds the journal's pen."""
    found = []
    for each in pkgutil.walk_packages(app.__path__, "app."):
        if each.name.endswith("render_child") or each.ispkg:
            continue
        module = importlib.import_module(each.name)
        is_service = "service" in each.name.split(".")[-2:]
        if (is_service or vars(module).get("record") is journal.record) and module is not journal:
            found.append(module)
    return found


@contextmanager
def tracing() -> Iterator[Trace]:
    """The services are watched until the block ends, by whatever name anybody imported them."""
    trace, found = Trace(), services()
    swapped = {id(function): trace.wrap(name, function) for name, function in found.items()}
    pen = journal.record

    def record(event: Any, *given: Any, **named: Any) -> Any:
        entry = pen(event, *given, **named)
        trace.entered(entry.event)
        return entry

    swapped[id(pen)] = record
    changed = []
    for module in [one for name, one in sys.modules.items() if name.startswith(PATCHED) and name != __name__]:
        for name, value in list(vars(module).items()):
            if inspect.isfunction(value) and id(value) in swapped:
                changed.append((module, name, value))
                setattr(module, name, swapped[id(value)])
            elif type(value) is list and any(id(one) in swapped for one in value):  # who is called in turn
                changed.append((module, name, value))
                setattr(module, name, [swapped.get(id(one), one) for one in value])
    sa.event.listen(sa.Engine, "before_cursor_execute", trace.wrote)
    try:
        yield trace
    finally:
        sa.event.remove(sa.Engine, "before_cursor_execute", trace.wrote)
        for module, name, value in changed:
            setattr(module, name, value)
