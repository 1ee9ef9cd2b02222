"""What the documents promise is there: every command, every link, every folder, every setting."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

import pytest

from app.cli import parser

ROOT = Path(__file__).resolve().parents[1]
README, DEVELOPERS = ROOT / "README.md", ROOT / "DEVELOPERS.md"
OURS = re.compile(r"TAGSTRIP_[A-Z_]+")
BETWEEN_OUR_PROCESSES = "TAGSTRIP_SERVE_"  # what `serve` hands to its workers; nobody sets it


def commands() -> list[str]:
    """The words that app.cli understands."""
    which = next(one for one in parser()._actions if isinstance(one, argparse._SubParsersAction))
    return sorted(which.choices)


@pytest.mark.parametrize("command", commands())
def test_every_command_has_an_example(command: str) -> None:
    assert re.search(rf"tagstrip {command}\b", README.read_text()), f"README.md shows no `./tagstrip {command}`"


@pytest.mark.parametrize("document", [README, DEVELOPERS], ids=lambda path: path.name)
def test_every_link_leads_to_something(document: Path) -> None:
    text = document.read_text()
    names = re.findall(r"!?\[[^\]]*\]\(([^)\s]+)\)|<img[^>]+src=\"([^\"]+)\"", text)
    for link in [one or other for one, other in names]:
        file, _, heading = link.partition("#")
        if link.startswith(("http://", "https://", "mailto:")):
            continue
        target = (document.parent / file).resolve() if file else document
        assert target.exists(), f"{document.name} links to {link}"
        if heading:
            assert heading in headings(target), f"{document.name} links to {link}"


def headings(document: Path) -> set[str]:
    """Anchors of a document's headings, as they are made of the words."""
    found = re.findall(r"^#+ (.+)$", document.read_text(), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", words.lower()).strip().replace(" ", "-") for words in found}


def test_every_folder_of_the_program_is_on_the_map() -> None:
    """And nothing is on the map that is not there."""
    table = DEVELOPERS.read_text().split("## Map")[1].split("\n### ")[0]
    named = {name for row in table.splitlines() if row.startswith("| `") for name in re.findall(r"`([\w/]+)`", row.split("|")[1])}
    said = {name.removeprefix("app/").strip("/") for name in named}
    folders = {path.name for path in (ROOT / "app").iterdir() if path.is_dir() and (path / "__init__.py").exists()}
    assert folders - said == set(), "not on the map"
    assert [name for name in named if not ((ROOT / name).is_dir() or (ROOT / "app" / name).is_dir())] == []


def test_every_setting_of_the_environment_is_told() -> None:
    files = [*(ROOT / "app").rglob("*.py"), ROOT / "tagstrip"]
    used = {name for file in files for name in OURS.findall(file.read_text()) if not name.startswith(BETWEEN_OUR_PROCESSES)}
    assert used and used - set(OURS.findall(README.read_text())) == set()
