"""What each table and column of an export means, in words, from the models themselves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import sqlalchemy as sa

from app.db import Base

_BY_END = (
    ("_minor", "money in the smallest unit of the shop's currency (cents, pence)"),
    ("_bp", "hundredths of a per cent"),
    ("_percent", "per cent"),
    ("_sha256", "SHA-256 of a file or text"),
    ("_at", "moment, UTC, ISO 8601"),
    ("_on", "day, ISO 8601"),
    ("_by", "name of the person who did it"),
    ("_name", "name as it was then"),
    ("_reason", "reason in words"),
    ("_days", "days"), ("_hours", "hours"), ("_minutes", "minutes"), ("_hz", "hertz"), ("_v", "volts"), ("_volts", "volts"),
    ("_a", "amperes"), ("_ma", "milliamperes"), ("_ohm", "ohms"), ("_mohm", "megohms"),
    ("_w", "watts"), ("_f", "farads"), ("_h", "henries"),
    ("_c", "degrees Celsius"), ("_mm", "millimetres"), ("_s", "seconds"), ("_j", "joules"),
)


def tables(given: Iterable[sa.Table]) -> str:
    """One paragraph a table, one line a column."""
    return "\n".join(_one(table) for table in given)


def _one(table: sa.Table) -> str:
    lines = [f"tables/{table.name}.csv: {_of_model(table)}"]
    lines += [f"  {column.name}: {of_column(column)}" for column in table.columns]
    return "\n".join(lines) + "\n"


def _of_model(table: sa.Table) -> str:
    for mapper in Base.registry.mappers:
        if mapper.local_table.name == table.name:  # type: ignore[attr-defined]
            return " ".join((mapper.class_.__doc__ or "").split("\n\n")[0].split())
    return "records"


def of_column(column: sa.Column[object]) -> str:
    """Kind and meaning of one column."""
    told = [*_meaning(column)]
    if not column.nullable and not column.primary_key:
        told.append("never empty of a value")
    return "; ".join(told)


def _meaning(column: sa.Column[object]) -> Iterator[str]:
    for key in column.foreign_keys:
        yield f"the {key.column.name} of a row of {key.column.table.name}.csv"
        return
    if column.primary_key:
        yield "the row's own number"
    elif isinstance(column.type, sa.Enum):
        yield "one of: " + ", ".join(column.type.enums)
    elif meant := next((words for end, words in _BY_END if column.name.endswith(end) or column.name == end[1:]), None):
        yield meant
    else:
        kind = _KINDS.get(column.type.__class__.__name__, "text")
        yield f"{column.name.replace('_', ' ')} ({kind})"


_NUMBER = "number, in the unit its name tells or beside it, SI"
_KINDS = {"Integer": "whole number", "Double": _NUMBER, "Float": _NUMBER, "Boolean": "yes or no",
          "Date": "day, ISO 8601", "UtcTime": "moment, UTC, ISO 8601", "JSON": "JSON"}
