"""Tables beside the tests that say, row by row, which test holds a thing, or why none does."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
STANDINGS = {"met", "partly", "not met", "not applicable"}
A_TEST = re.compile(r"`([\w/.]+\.py)::(\w+)`")
A_SECTION = re.compile(r"see \*([^*]+)\*")


def rows(table: Path, first: str) -> list[list[str]]:
    """The cells of each line whose first cell is like `first`."""
    lines = [line for line in table.read_text(encoding="utf-8").splitlines() if re.match(rf"\| {first} \|", line)]
    return [[cell.strip() for cell in line.strip("| ").split(" | ")] for line in lines]


def holds(table: Path, row: str, standing: str, why: str) -> None:
    """AssertionError if this row names a test or a section that is not there, or neither test nor reason."""
    assert standing in STANDINGS, row
    for path, name in A_TEST.findall(why):
        assert re.search(rf"def {name}\(", (ROOT / "tests" / path).read_text(encoding="utf-8")), (row, path, name)
    for section in A_SECTION.findall(why):
        assert re.search(rf"^#+ {re.escape(section)}$", table.read_text(encoding="utf-8"), re.MULTILINE), (row, section)
    if standing == "met":
        assert A_TEST.search(why) or A_SECTION.search(why), row
    else:
        assert len(why.split()) > 1, row
