"""The figures as tables with bars: one shape for the screen, for paper and for a CSV file. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

Value = str | int | float | date | None
TOP = 1000  # how wide a whole bar is drawn


class Unit(StrEnum):
    """What the values of a column are."""

    TEXT = "text"
    COUNT = "count"
    DAYS = "days"
    HOURS = "hours"
    PERCENT = "percent"  # a share of 1
    TIMES = "times"
    MONEY = "money"  # smallest coins
    MONTH = "month"
    DAY = "day"
    ORDER = "repair"  # a repair's number; its id stands in `orders`


@dataclass(frozen=True)
class Column:
    """A column: its head and what its values are."""

    head: str
    unit: Unit = Unit.TEXT

    @property
    def is_number(self) -> bool:
        return self.unit not in (Unit.TEXT, Unit.ORDER, Unit.MONTH)


@dataclass(frozen=True)
class Bar:
    """A drawn bar: pieces side by side, each up to TOP in all; a mark where something is held against, a range as a line."""

    pieces: tuple[int, ...]
    mark: int | None = None
    reach: tuple[int, int] | None = None


@dataclass(frozen=True)
class Row:
    """One row: a value a column, a bar if the table draws one, and the repairs that its numbers name."""

    values: tuple[Value, ...]
    bar: Bar | None = None
    orders: tuple[int, ...] = ()
    is_total: bool = False
    warns: str = ""  # why the amp must not be energised


@dataclass(frozen=True)
class Table:
    """One table of the figures. `drawn`: the head of the bars, empty if none are drawn; `pieces`: what each piece of a bar is."""

    key: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    empty: str
    drawn: str = ""
    pieces: tuple[str, ...] = ()
    mark: str = ""
    notes: tuple[str, ...] = field(default_factory=tuple)


def cells(table: Table) -> list[list[Value]]:
    """The table as rows of plain values, its head first, for a CSV file: each unit in its head, shares as percent."""
    warned = any(row.warns for row in table.rows)
    head: list[Value] = [_headed(column) for column in table.columns]
    body = [[_plain(value, column.unit) for value, column in zip(row.values, table.columns, strict=True)]
            + ([row.warns] if warned else []) for row in table.rows]
    return [head + (["do not energise"] if warned else []), *body]


def _headed(column: Column) -> str:
    named = {Unit.DAYS: "days", Unit.HOURS: "h", Unit.PERCENT: "%"}.get(column.unit, "")
    return f"{column.head} ({named})" if named else column.head


def _plain(value: Value, unit: Unit) -> Value:
    if isinstance(value, float):
        return round(value * 100, 2) if unit is Unit.PERCENT else round(value, 3)
    return value.strftime("%Y-%m") if unit is Unit.MONTH and isinstance(value, date) else value


def bars(values: Sequence[Sequence[float]], marks: Sequence[float | None] = ()) -> list[Bar]:
    """Bars to one scale: the longest, or the furthest mark, reaches TOP. A piece below 0 is not drawn."""
    drawn = [[max(one, 0.0) for one in pieces] for pieces in values]
    held = list(marks) or [None] * len(drawn)
    top = max([sum(pieces) for pieces in drawn] + [mark for mark in held if mark is not None], default=0.0)
    found = []
    for pieces, mark in zip(drawn, held, strict=True):
        scaled = [round(one / top * TOP) if top else 0 for one in pieces]
        found.append(Bar(tuple(scaled), round(mark / top * TOP) if top and mark is not None else None))
    return found
