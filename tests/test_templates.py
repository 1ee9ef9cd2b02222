"""Templates keep to the house: no inline script or style, every variable known, shop words not written out."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from jinja2 import Environment, nodes

from app.kernel.tokens import UNSEEN_FIELDS

TEMPLATES = Path(__file__).resolve().parent.parent / "templates"
APP = TEMPLATES.parent / "app"
HIDDEN = re.compile(r"(\w+) = HiddenField\(")
ASKED_HIDDEN = re.compile(r'(\w+): \w+ = asked\(Text\([^\n]*sort="hidden"')
FILES = sorted(TEMPLATES.rglob("*.html"))
# The words of one wording pack, which a template takes from `w` or through the filter `trade`.
PACK_WORDS = re.compile(r"\b(tube|tubes|valve|valves|earth|earthed|B\+)\b", re.IGNORECASE)
SOFTWARE_WORDS = re.compile(r"\b(invalid|oops|please|submit|database|record id|null|error code)\b|!<", re.IGNORECASE)


def visible(text: str) -> str:
    """What a person would read: without Jinja and tags."""
    text = re.sub(r"\{#.*?#\}", " ", text, flags=re.DOTALL)
    text = re.sub(r"\{[{%].*?[%}]\}", " ", text, flags=re.DOTALL)
    return re.sub(r"<[^>]*>", " ", text)


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(TEMPLATES)))
def test_template_keeps_to_the_page_policy(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    if path.is_relative_to(TEMPLATES / "documents"):
        return  # paper has its own styles, and no script at all
    assert not re.search(r"\sstyle=|<script(?![^>]*src=)|\son[a-z]+=", text), path


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(TEMPLATES)))
def test_template_speaks_the_shops_words(path: Path) -> None:
    found = PACK_WORDS.findall(visible(path.read_text(encoding="utf-8")))
    assert not found, f"{path.name}: {found}: use w.… or the filter trade"


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(TEMPLATES)))
def test_template_uses_no_words_of_software(path: Path) -> None:
    assert not SOFTWARE_WORDS.findall(visible(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(TEMPLATES)))
def test_template_imports_only_what_it_uses(path: Path) -> None:
    """What stands at its head says what it is made of."""
    tree = Environment(autoescape=True).parse(path.read_text(encoding="utf-8"))
    imported = {name[-1] if isinstance(name, tuple) else name for one in tree.find_all(nodes.FromImport) for name in one.names}
    assert imported <= {one.name for one in tree.find_all(nodes.Name) if one.ctx == "load"}


def test_hidden_fields_are_told_apart_from_what_a_person_typed() -> None:
    hidden = {name for path in FILES for name in re.findall(r'type="hidden"[^>]* name="(\w+)"', path.read_text(encoding="utf-8"))}
    hidden |= {name for path in APP.rglob("forms*/**/*.py") for name in HIDDEN.findall(path.read_text(encoding="utf-8"))}
    hidden |= {name for path in APP.rglob("spec.py") for name in ASKED_HIDDEN.findall(path.read_text(encoding="utf-8"))}
    hidden |= {name for path in APP.rglob("forms.py") for name in HIDDEN.findall(path.read_text(encoding="utf-8"))}
    typed_elsewhere = {"code", "mark", "mine", "seen", "thread"}  # carried by one form, entered in another: rather shown too often
    told = {"version", "then", "text_sha256", "facts_sha256", "total", "confirmed"}
    assert told | typed_elsewhere <= hidden <= UNSEEN_FIELDS | typed_elsewhere
    assert not typed_elsewhere & UNSEEN_FIELDS
