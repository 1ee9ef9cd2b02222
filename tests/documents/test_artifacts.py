"""Running heads, feet and page numbers are no part of what a paper says: PDF/UA-1 (ISO 14289-1), 7.1 and 7.8.

7.1: content is either tagged in the structure tree or an artifact. 7.8: running headers and footers are pagination artifacts.
(Read in the Matterhorn Protocol 1.02, checkpoints 01 and 18, not in the standard itself.)
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import pikepdf
import pytest
from flask import Flask

from app.db import transaction
from app.documents.rules import Kind
from app.photos.store import the_store
from app.shop.queries import the_shop
from tests.documents import make as story
from tests.documents.test_papers import elements, issue

SHOWS = {"Tj", "TJ", "'", '"', "f", "F", "f*", "S", "s", "B", "B*", "b", "b*", "sh", "Do", "EI"}


def reachable(pdf: pikepdf.Pdf) -> set[tuple[int, int]]:
    """(page object, MCID) of everything that a reader comes to from the root of the structure tree."""
    found = set()
    for element in elements(pdf):
        kids = element.get("/K")
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            if isinstance(kid, int):
                found.add((element.Pg.objgen[0], int(kid)))
            elif isinstance(kid, pikepdf.Dictionary) and kid.get("/Type") == "/MCR":
                found.add(((kid.get("/Pg") or element.Pg).objgen[0], int(kid.MCID)))
    return found


def shown(page: pikepdf.Page) -> Iterator[tuple[str, int | None, Any]]:
    """Each operator that marks the sheet with what it stands in: 'Artifact', 'tagged' with its MCID, or 'neither'."""
    inside: list[tuple[str, int | None, Any]] = []
    for operands, operator in pikepdf.parse_content_stream(page):
        if str(operator) in ("BDC", "BMC"):
            given = operands[1] if len(operands) > 1 else None
            if str(operands[0]) == "/Artifact":
                inside.append(("Artifact", None, given))
            elif isinstance(given, pikepdf.Dictionary) and "/MCID" in given:
                inside.append(("tagged", int(given.MCID), given))
            else:
                inside.append(("neither", None, given))
        elif str(operator) == "EMC":
            inside.pop()
        elif str(operator) in SHOWS:
            yield next((one for one in reversed(inside) if one[0] != "neither"), ("neither", None, None))
    assert not inside


@pytest.mark.parametrize("demo", [False, True])
def test_heads_feet_and_page_numbers_are_artifacts(context: Flask, demo: bool) -> None:
    with transaction():
        order = story.repaired(story.quoted(story.taken_in()))
        the_shop().demo = demo
    made = the_store().get(issue(order, Kind.REPORT).sha256)
    with pikepdf.open(io.BytesIO(made)) as pdf:
        known = reachable(pdf)
        parents = pdf.Root.StructTreeRoot.ParentTree.Nums
        assert len(pdf.pages) >= 2
        for page in pdf.pages:
            number = page.objgen[0]
            marks = list(shown(page))
            bare = [one for one in marks if one[0] == "neither"]
            assert not bare, f"page {page.index + 1} shows what is neither tagged nor artifact"
            lost = {mcid for kind, mcid, _ in marks if kind == "tagged" and (number, mcid) not in known}
            assert not lost, f"page {page.index + 1}: {lost} are marked as content that no reader comes to"
            assert any(kind == "Artifact" and given is not None and given.get("/Type") == "/Pagination" for kind, _, given in marks)
            here = next(parents[at + 1] for at in range(0, len(parents), 2) if parents[at] == page.obj.StructParents)
            tagged = {mcid for kind, mcid, _ in marks if kind == "tagged"}
            assert {at for at, one in enumerate(here) if one is not None} <= tagged | {mcid for at, mcid in known if at == number}
        texts = [str(one.S) for one in elements(pdf)]
        assert "/H1" in texts and "/Table" in texts
