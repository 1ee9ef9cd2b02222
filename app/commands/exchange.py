"""`export` and `import`."""

from __future__ import annotations

import argparse

from app import clock
from app.backup.place import refuse_missing
from app.commands.opening import alone, application
from app.commands.people import CONSOLE
from app.db import transaction
from app.errors import RuleBroken
from app.exchange.csv_import import Plan, plan, take_in
from app.exchange.export import export as write_all
from app.kernel.local_forms import counted

FIRST_ROWS = 20
MOST_WRONG = 50


def export(given: argparse.Namespace) -> None:
    """Everything in plain files; what is missing or damaged is listed, and the rest written."""
    with application(given.data, older=True):
        made = write_all(given.dir)
    for line in made.lacking:
        print(line)
    if made.lacking:
        lack = counted(len(made.lacking), "file")
        raise RuleBroken(f"{given.dir}: written, but {lack} could not be read: see above and LACKING.txt.")
    print(f"{given.dir}: {made.tables} tables, {made.orders} repair orders, {made.files} files. Start with README.txt.")


def import_(given: argparse.Namespace) -> None:
    """Take in a file: every row, or none."""
    refuse_missing(given.data, sqlite=False)
    data = given.file.read_bytes()
    with alone(given.data), application(given.data), transaction():
        planned = plan(given.file.name, data, given.what)
        _show(planned, rows=given.dry_run)
        planned.must_be_right()
        added = 0 if given.dry_run else take_in(planned, by=CONSOLE, now=clock.now())
    known = f", {planned.known} are known" if planned.known else ""
    print(f"Would import {len(planned.new)}{known}; nothing was changed." if given.dry_run else f"Imported {added}{known}.")


def _show(planned: Plan, *, rows: bool) -> None:
    sheet = planned.sheet
    print(f"{planned.name}: {planned.what}, {sheet.encoding}, {sheet.delimiter} between cells, {_rows(len(sheet.rows))}.")
    if planned.unused:
        print(f"Not used: {', '.join(planned.unused)}.")
    if rows:
        print(" | ".join(sheet.columns))
        for _, cells in sheet.rows[:FIRST_ROWS]:
            print(" | ".join(" ".join(cell.split()) for cell in cells))
    for wrong in planned.wrong[:MOST_WRONG]:
        print(wrong)
    if len(planned.wrong) > MOST_WRONG:
        print(f"… and {_rows(len(planned.wrong) - MOST_WRONG, 'more ')}")


def _rows(count: int, more: str = "") -> str:
    return counted(count, f"{more}row")
