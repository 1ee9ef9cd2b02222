"""Whatever somebody types is shown as they typed it: on every page, on every paper, and in what a refused form says back.

The rule and what breaks it are those of the HTML standard (13.1.2.3 attributes, 13.1.4 character references) and of OWASP's
Cross Site Scripting Prevention Cheat Sheet, rules 1 and 2 (from memory); so is the template-like text.
"""

from __future__ import annotations

import html
from collections import Counter
from collections.abc import Iterator

import pytest
import sqlalchemy as sa
from flask import Flask
from jinja2 import pass_context
from markupsafe import Markup

from app import template_globals
from app.access.rules import Role
from app.db import session
from app.documents.rules import Kind
from tests.documents.every_paper import every_paper
from tests.hostile import HOSTILE, UNESCAPED, Walk, fill, words_of_somebody
from tests.pages import PageClient
from tests.whole_shop import WholeShop, opened, somebody


@pytest.fixture(scope="module")
def filled(whole_shop: WholeShop, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Flask, PageClient]]:
    data = whole_shop.copied(tmp_path_factory.mktemp("hostile") / "shop")
    assert fill(data / "tagstrip.db") > 150
    with opened(data) as app:
        yield app, PageClient(app).sign_in(somebody(app, Role.OWNER))


@pytest.fixture(scope="module")
def walk(filled: tuple[Flask, PageClient]) -> Walk:
    """Some of each page that the owner can come to, read once."""
    walk = Walk(filled[0], filled[1].client)
    walk.everywhere()
    return walk


def test_the_text_stands_in_nearly_every_column_of_words(whole_shop: WholeShop, filled: tuple[Flask, PageClient]) -> None:
    """Where the shop has words at all; `test_every_write` holds it filled."""
    with filled[0].app_context():
        there = [column for column in words_of_somebody()
                 if session().scalar(sa.select(sa.func.count()).where(column.startswith("zqx<") | column.contains("zqx<")))]
    assert len(there) > 240


def test_nothing_typed_is_obeyed_on_any_page(walk: Walk) -> None:
    assert walk.faults == []
    assert len(walk.seen) > 110 and sum(walk.seen.values()) > 400


def test_a_filter_that_says_its_words_are_markup_is_seen(filled: tuple[Flask, PageClient]) -> None:
    """In an application of its own: macros that were imported once keep the filter that they met then."""
    with opened(filled[0].config["DATA"]) as app:
        app.jinja_env.filters["trade"] = pass_context(lambda _context, text: Markup(template_globals.trade(text)))  # noqa: S704
        walk = Walk(app, PageClient(app).sign_in(somebody(app, Role.OWNER)).client)
        for path in ("/", "/orders/1", "/orders/6/removals", "/orders/6/safety"):
            walk.read(path, path)
    assert len(walk.faults) == 4


def test_nothing_typed_is_obeyed_on_any_paper(filled: tuple[Flask, PageClient]) -> None:
    """Each paper's page, which is what its PDF is made of."""
    app, _ = filled
    made: dict[Kind, int] = {}
    with app.test_request_context():
        for order, kind, page in every_paper():
            made[kind] = made.get(kind, 0) + 1
            assert [one for one in UNESCAPED if one in page] == [], (order.number, kind)
            assert html.escape(HOSTILE, quote=False)[:12] in page
    assert set(made) >= {Kind.RECEIPT, Kind.ESTIMATE, Kind.REPORT, Kind.UNREPAIRED} and sum(made.values()) > 60


@pytest.mark.parametrize("everywhere", [False, True], ids=["what is typed", "every field"])
def test_a_form_takes_it_or_says_it_back_as_it_was_typed(walk: Walk, everywhere: bool) -> None:
    """Each form that was seen, once as a person would send it and once as no page would."""
    assert walk.faults == [] and len(walk.forms) > 100, walk.answers
    answers = Counter(walk.send(form, everywhere=everywhere).status for _, form in walk.forms.values())
    assert walk.faults == []
    assert answers[303] > (20 if not everywhere else 0) and set(answers) <= {200, 303, 400, 404, 409, 422}, answers
