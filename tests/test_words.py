"""Plain words: the retired ones stay out of templates, refusals, gates, forms and the catalogue, and out of the pages and papers
of a filled shop; and an American shop never reads "hot" for live metal or a bare "line" for the supply.
"""

from __future__ import annotations

import ast
import html
import re
from pathlib import Path

import pytest
from flask import Flask

from app.db import session, transaction
from app.documents.paper import paper
from app.documents.rules import Kind
from app.errors import NotFound
from app.findings import usual
from app.orders.models import RepairOrder
from app.shop.queries import the_shop
from app.shop.wording import Pack
from tests.browser import crawl, furnished
from tests.documents import make as story
from tests.pages import PageClient
from tests.test_templates import FILES, TEMPLATES
from tests.words import RETIRED, retired_in

APP = Path(__file__).resolve().parent.parent / "app"
# No user reads them: what only programs say to programs, and the words of sources, laws and old rows.
APART = ("commands/benchmarks", "launch/environment.py", "reassembly/planner/kinds.py", "handover/notices", "intake/terms",
         "shop/wording.py", "journal/events.py")
# Values that rows hold: their words on screen are others.
STORED = {"looked at only", "not worth the money", "somebody they sent", "not needed: the work is planned anew"}
HOT_OR_LINE = re.compile(r"\bhot (?:parts?|strands?|faults?|metal|chassis)\b|\bmains\b"
                         r"|(?<!AC )(?<!-)\bline (?:parts?|conductor|cord|inlet|joints?|off|wires?)\b"
                         r"|\b(?:at|the) line\b(?! voltage)")


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(TEMPLATES)))
def test_no_template_speaks_a_retired_word(path: Path) -> None:
    text = re.sub(r"\{#.*?#\}", " ", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    assert retired_in(text) == []


def strings(path: Path) -> list[str]:
    """Every text in a module that is no docstring, the pieces of one f-string together."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    told = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    inner = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    found = [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)
             and id(node) not in told | inner]
    return found + ["".join(part.value if isinstance(part, ast.Constant) else "…" for part in node.values)
                    for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)]


def test_no_refusal_gate_or_form_speaks_a_retired_word() -> None:
    found = [f"{path.relative_to(APP)}: {text!r}: {wrong}" for path in sorted(APP.rglob("*.py"))
             if not str(path.relative_to(APP)).startswith(APART)
             for text in strings(path) if " " in text and text not in STORED and "IN (" not in text for wrong in retired_in(text)]
    assert found == []


def test_no_entry_of_the_catalogue_speaks_a_retired_word() -> None:
    assert [wrong for one in usual.shipped() for text in (one.observation, one.short, one.cause, one.hazard, one.disposition_words,
                                                          one.check_words) for wrong in retired_in(text)] == []


def test_the_list_finds_what_it_names() -> None:
    assert retired_in("Somebody wrote it down; it was reckoned anew.") == [
        "“reckoned” (say: calculated)", "“anew” (say: again)", "“Somebody” (say: someone)"]
    assert HOT_OR_LINE.search("bare hot parts in reach") and HOT_OR_LINE.search("line off and unplugged")
    assert not HOT_OR_LINE.search("hot and neutral joined; AC line wires; idle too hot; the headline") and len(RETIRED) > 40


def plain(page: str) -> str:
    """What a person reads of a page: no script, no tags, white space folded; without the one word that the story's people typed."""
    seen = re.sub(r"<(script|style|svg)\b.*?</\1>", " ", page, flags=re.DOTALL)
    read = re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", seen)).replace("\u00a0", " "))
    return re.sub(r"[Ll]oudspeaker", "…", read)


@pytest.mark.timeout(500)
@pytest.mark.parametrize("engine_name", ["sqlite"], indirect=True)  # words do not differ by engine
def test_every_page_and_paper_of_a_tube_shop_speaks_plainly(app: Flask, owner: PageClient) -> None:
    """Walks each kind of page that a link leads to, and each kind of paper that can be made, in a shop with something on all."""
    with app.app_context():
        with transaction():
            story.repaired(story.quoted(story.taken_in()))
        with transaction():
            furnished.on_the_bench()
            furnished.not_fetched()
            furnished.went_home()
        with transaction():
            furnished.known_longer()
            the_shop().wording = Pack.TUBE
    found: dict[str, list[str]] = {}

    def read(where: str, page: str) -> None:
        said = plain(page)
        if wrong := [hit.group() for hit in HOT_OR_LINE.finditer(said)] + retired_in(said):
            found[where] = wrong

    walked = crawl.pages(app, owner.client, read)
    with app.app_context():
        papers = 0
        for order in session().scalars(RepairOrder.__table__.select().with_only_columns(RepairOrder.id)).all():
            for kind in (Kind.RECEIPT, Kind.ESTIMATE, Kind.REPORT, Kind.UNREPAIRED):
                try:
                    page = paper(session().get_one(RepairOrder, order), kind).page
                except NotFound:  # not every order has every paper
                    continue
                papers += 1
                read(f"{kind.value} of order {order}", page)
    assert len(walked) > 60 and papers > 6 and not found, "\n".join(f"{where}: {wrong}" for where, wrong in found.items())
