"""Many readings on several drawings, none of which is too high for a sheet; names in lines that fit."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont

from app.documents.chart import EDGE, MOST_HEIGHT, MOST_ROWS, ROOM, TOP, WORD, Given, draw, wrapped
from app.kernel.fonts import font_files

FACE = ImageFont.truetype(str(font_files()["AtkinsonHyperlegible-Regular.ttf"]), 100)
LATIN = "".join(chr(c) for c in [*range(33, 127), *range(0xC0, 0x180), 0x2126, 0x2264, 0x2013]
                if FACE.getmask(chr(c)).getbbox() is not None)


def point(name: str, found: float | None = 402.0) -> Given:
    return Given(name, 421.0, 438.0, 455.0, found, 441.0)


def wide(text: str) -> float:
    return FACE.getlength(text) * WORD / 100


@given(st.lists(st.text(LATIN, min_size=1, max_size=40), min_size=1, max_size=12))
def test_no_line_of_a_name_is_wider_than_its_room_and_none_is_lost(words: list[str]) -> None:
    """Measured in the typeface that is printed."""
    lines = wrapped(" ".join(words))
    assert all(wide(line) <= ROOM for line in lines), [(line, wide(line)) for line in lines]
    assert "".join(lines).replace(" ", "") == "".join(words)


@given(st.lists(st.text("abc MW", min_size=1, max_size=200).filter(str.strip), max_size=80))
def test_every_reading_is_drawn_once_and_every_drawing_fits(names: list[str]) -> None:
    assert MOST_ROWS == 25
    charts = draw(point(name) for name in names)
    assert [line.name for chart in charts for line in chart.lines] == names
    assert [(chart.number, chart.of) for chart in charts] == [(at + 1, len(charts)) for at in range(len(charts))]
    for chart in charts:
        assert len(chart.lines) <= MOST_ROWS
        assert chart.height <= MOST_HEIGHT + 2 * TOP or len(chart.lines) == 1
        words = [y for line in chart.lines for y, _ in line.words]
        assert words == sorted(words) and words[0] >= WORD and words[-1] < chart.height


def test_readings_lie_where_their_band_puts_them() -> None:
    """By hand: 374 units across, so half a band is 187/2.7; 402 V lies 36 below the middle, over two half bands of 17."""
    (chart,) = draw([point("HT"), point("far off", 20.0)])
    assert (chart.middle, round(chart.band_to - chart.middle, 1)) == (437.0, 69.3)
    (near, off) = chart.lines
    assert near.found is not None and near.found.off == 0 and abs(near.found.x - (437 - 36 / 17 * 187 / 2.7)) < 0.1
    assert off.found is not None and off.found.off == -1 and abs(off.found.x - (437 - EDGE * 187 / 2.7)) < 0.1
    assert draw([Given("no limits", None, None, None, 1.0, None)]) == ()
