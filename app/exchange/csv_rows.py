"""From rows of a sheet to customers, listed parts and past jobs; each mistake by its row, in words. Pure."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from app.errors import BadInput
from app.exchange.csv_file import Sheet

Row = dict[str, str]
MOST_HOURS = 1000.0
# what: column -> other names under which it may stand
COLUMNS: dict[str, dict[str, tuple[str, ...]]] = {
    "customers": {"name": ("customer", "full name"), "phone": ("telephone", "mobile", "tel"), "email": ("e-mail", "mail"),
                  "address": (), "note": ("notes",)},
    "parts": {"number": ("part number", "part no", "part"), "what": ("description", "name"), "supplier": (),
              "price": ("unit price", "cost")},
    "past-jobs": {"kind": ("task", "kind of task"), "estimated hours": ("estimate", "estimated"), "actual hours": ("actual",),
                  "model": ("amp",), "finished on": ("finished", "date")},
}
NEEDED = {"customers": ("name",), "parts": ("number", "what", "price"), "past-jobs": ("kind", "estimated hours", "actual hours")}


@dataclass(frozen=True)
class Wrong:
    """What is wrong with one row."""

    row: int
    words: str

    def __str__(self) -> str:
        return f"row {self.row}: {self.words}"


@dataclass(frozen=True)
class Part:
    """One line of a price list; price in minor units, before tax."""

    number: str
    what: str
    supplier: str
    price_minor: int


@dataclass(frozen=True)
class Job:
    """One past task: estimated and actual in hours, above zero."""

    kind: str
    estimated_hours: float
    actual_hours: float
    model: str
    finished_on: date | None


def told(sheet: Sheet, what: str | None = None) -> str:
    """What the rows are, by the names of the columns; BadInput if they do not say, or lack one that `what` needs."""
    there = {_plain(name) for name in sheet.columns}
    fits = [one for one in ([what] if what else NEEDED) if all(_stands(one, name, there) for name in NEEDED[one])
            and (one != "customers" or any(_stands(one, name, there) for name in ("phone", "email", "address")))]
    if len(fits) != 1:
        wants = "; ".join(f"{one}: {', '.join(NEEDED[one])}" for one in ([what] if what else NEEDED)
                          ).replace("customers: name", "customers: name, and phone, email or address")
        raise BadInput(f"The first line must name the columns. Needed are, for {wants}. "
                       f"It reads: {', '.join(sheet.columns)[:200]}.")
    return fits[0]


def used(sheet: Sheet, what: str) -> dict[str, int]:
    """Our column → its place in the sheet; BadInput if one stands twice."""
    found: dict[str, int] = {}
    for place, name in enumerate(sheet.columns):
        for ours, others in COLUMNS[what].items():
            if _plain(name) in (ours, *others):
                if ours in found:
                    raise BadInput(f"The column “{ours}” stands twice in the first line.")
                found[ours] = place
    return found


def rows(sheet: Sheet, what: str) -> tuple[list[tuple[int, Row]], list[Wrong]]:
    """Each row as column → text. A row with more or fewer cells than the first line has is wrong."""
    places = used(sheet, what)
    good: list[tuple[int, Row]] = []
    bad: list[Wrong] = []
    for number, cells in sheet.rows:
        if len(cells) != len(sheet.columns):
            bad.append(Wrong(number, f"has {len(cells)} cells, the first line names {len(sheet.columns)}"))
        else:
            good.append((number, {name: cells[place].strip() for name, place in places.items()}))
    return good, bad


def part(row: Row, exponent: int, comma: bool | None) -> Part:
    """BadInput if something is missing or no price."""
    price = _number(row.get("price", ""), "price", comma)
    minor = price * 10**exponent
    if minor < 0 or abs(minor - round(minor)) > 1e-6 or minor > 1e12:
        raise BadInput(f"“{row['price']}” is not a price with at most {exponent} decimals")
    return Part(_text(row, "number"), _text(row, "what"), row.get("supplier", ""), round(minor))


def job(row: Row, comma: bool | None) -> Job:
    """BadInput if something is missing, or hours are not above zero."""
    return Job(_text(row, "kind"), _hours(row, "estimated hours", comma), _hours(row, "actual hours", comma),
               row.get("model", ""), _day(row.get("finished on", "")))


def decimal_comma(found: list[tuple[int, Row]], columns: tuple[str, ...]) -> bool | None:
    """Whether the file writes 2,5 (True) or 2.5 (False), by its own numbers; None if they do not tell. BadInput if both."""
    cells = [row.get(name, "") for _, row in found for name in columns]
    comma = any(re.fullmatch(r"[^,]*\d,(\d{1,2}|\d{4,})|[^,]*\.\d{3},\d+|0,\d+", cell) for cell in cells)
    point = any(re.fullmatch(r"[^.]*\d\.(\d{1,2}|\d{4,})|[^.]*,\d{3}\.\d+|0\.\d+", cell) for cell in cells)
    if comma and point:
        raise BadInput("Some numbers have a decimal comma and some a decimal point. Write all in the same way.")
    return comma if comma or point else None


def each(found: list[tuple[int, Row]], make: Callable[[Row], object]) -> tuple[list[object], list[Wrong]]:
    """Make something of every row; what cannot be made is wrong, by its row."""
    made: list[object] = []
    bad: list[Wrong] = []
    for number, row in found:
        try:
            made.append(make(row))
        except BadInput as wrong:
            bad.append(Wrong(number, wrong.words))
    return made, bad


def _stands(what: str, name: str, there: set[str]) -> bool:
    return bool({name, *COLUMNS[what][name]} & there)


def _plain(name: str) -> str:
    return " ".join(name.replace("_", " ").casefold().split())


def _text(row: Row, name: str) -> str:
    if not row.get(name):
        raise BadInput(f"the {name} is empty")
    return row[name]


def _hours(row: Row, name: str, comma: bool | None) -> float:
    found = _number(row.get(name, ""), name, comma)
    if not 0 < found <= MOST_HOURS:
        raise BadInput(f"{name} are “{row[name]}”; hours must be above 0 and at most {MOST_HOURS:g}")
    return found


def _number(cell: str, name: str, comma: bool | None) -> float:
    if not cell:
        raise BadInput(f"the {name} is empty")
    if not re.fullmatch(r"-?(\d+|\d{1,3}(?P<gap>[.,])\d{3}((?P=gap)\d{3})*)?([.,]\d+)?", cell) or not re.search(r"\d", cell):
        raise BadInput(f"{name} is “{cell}”, which is not a number")
    if comma is None and re.fullmatch(r"-?\d{1,3}[.,]\d{3}", cell):
        raise BadInput(f"{name} is “{cell}”, which can be read in two ways; write it without the sign between thousands")
    point, gap = (",", ".") if comma else (".", ",")
    if not re.fullmatch(rf"-?(\d+|\d{{1,3}}(\{gap}\d{{3}})*)?(\{point}\d+)?", cell):
        raise BadInput(f"{name} is “{cell}”; the other numbers here have a decimal {'comma' if comma else 'point'}")
    return float(cell.replace(gap, "").replace(point, "."))


def _day(cell: str) -> date | None:
    if not cell:
        return None
    iso = re.fullmatch(r"(\d{4})-(\d{2})-(\d{2})", cell)
    dots = re.fullmatch(r"(\d{1,2})\.(\d{1,2})\.(\d{4})", cell)
    try:
        if iso:
            return date(int(iso[1]), int(iso[2]), int(iso[3]))
        if dots:
            return date(int(dots[3]), int(dots[2]), int(dots[1]))
    except ValueError:
        raise BadInput(f"there is no day {cell}") from None
    raise BadInput(f"“{cell}” is not a day; write it as 2026-03-25, which nobody can read in two ways")
