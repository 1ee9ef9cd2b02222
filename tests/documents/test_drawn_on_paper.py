"""A PDF knows no style sheet of the page inside a drawing: each shape brings its own fill and stroke, or it is filled black.

So SVG 2, 13.2 (the initial value of `fill` is black); that WeasyPrint applies no outer style sheet to inline SVG was seen: a bar of
hours came out as one black block.
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree import ElementTree as Xml

import html5lib

from tests.documents.every_paper import every_paper
from tests.whole_shop import WholeShop, opened

SHAPES = {"rect", "path", "circle", "ellipse", "line", "polygon", "polyline"}


def bare(element: Xml.Element, *, filled: bool = False, of: str = "") -> Iterator[str]:
    """Shapes of the drawings below that would be black by default, as "drawing: shape class"."""
    name = element.tag.rpartition("}")[2]
    of = (element.get("class") or "svg") if name == "svg" else of
    filled = filled or "fill" in element.attrib
    if of and name in SHAPES and not filled:
        yield f"{of}: {name} {element.get('class', '')}"
    for child in element if name not in ("defs", "clipPath") else ():
        yield from bare(child, filled=filled, of=of)


def test_no_shape_on_any_paper_is_filled_black_for_want_of_a_colour(whole_shop: WholeShop) -> None:
    found: dict[str, str] = {}
    drawings = 0
    with opened(whole_shop.data) as app, app.test_request_context():
        for order, kind, page in every_paper():
            root = html5lib.parse(page, namespaceHTMLElements=False)
            drawings += sum(1 for one in root.iter() if one.tag.rpartition("}")[2] == "svg")
            found |= dict.fromkeys(bare(root), f"{order.number} {kind.value}")
    assert found == {} and drawings > 20
