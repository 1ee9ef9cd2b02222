"""The colours hold their contrast in light and dark.

Formula and thresholds: W3C, Web Content Accessibility Guidelines 2.2, definitions of relative luminance and contrast
ratio; success criteria 1.4.3 (text 4.5:1, held to 5:1 here), 1.4.6 (text 7:1), 1.4.11 (controls and graphics 3:1).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

CSS = Path(__file__).parents[2] / "static" / "css"
COLOUR = re.compile(r"--([\w-]+):\s*(#[0-9a-f]{6});")

TEXT = (
    ("ink", "paper"), ("ink", "sheet"), ("ink-soft", "paper"), ("ink-soft", "sheet"), ("ink-soft", "plain-wash"),
    ("ink", "copper-wash"), ("ink", "pass-wash"), ("ink", "doubt-wash"), ("ink", "fail-wash"), ("ink", "plain-wash"),
    ("copper", "paper"), ("copper", "sheet"), ("copper", "copper-wash"), ("copper-deep", "paper"),
    ("on-copper", "copper"), ("on-copper", "copper-deep"), ("sheet", "ink"), ("fail", "sheet"), ("fail", "paper"),
)
READINGS_AND_VERDICTS = (
    ("ink", "sheet"), ("pass", "pass-wash"), ("doubt", "doubt-wash"), ("fail", "fail-wash"),
)
EDGES = (
    ("rule-strong", "sheet"), ("rule-strong", "paper"), ("rule-strong", "plain-wash"), ("ink", "paper"),
    ("fail", "sheet"), ("doubt", "doubt-wash"), ("copper", "sheet"), ("solder-edge", "sheet"),
    ("phenolic-edge", "sheet"),
)


def blocks() -> dict[str, dict[str, str]]:
    """The colours of each of the three lists: light, dark by the system, dark by choice."""
    text = (CSS / "tokens.css").read_text(encoding="utf-8")
    light, rest = text.split("@media", 1)
    system, choice = rest.split(':root[data-theme="dark"]', 1)
    return {name: dict(COLOUR.findall(part)) for name, part in
            (("light", light), ("dark by the system", system), ("dark by choice", choice))}


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, 0 to 1 (WCAG 2.2)."""
    parts = [int(colour[at:at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio, 1 to 21 (WCAG 2.2)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_the_published_ends() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#777777") == 1
    # 4.48:1 is the well-known near miss of mid grey on white; from memory
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


def test_both_dark_lists_are_alike_and_leave_no_colour_out() -> None:
    found = blocks()
    assert found["dark by the system"] == found["dark by choice"]
    # The bands of a resistor and the paper of a label are the same in any light.
    changing = {name for name in found["light"] if not name.startswith(("band-", "label-"))}
    assert changing == found["dark by choice"].keys()
    assert len(found["light"]) > 20


@pytest.mark.parametrize("theme", ["light", "dark by choice"])
@pytest.mark.parametrize(("pairs", "least"), [(TEXT, 5), (READINGS_AND_VERDICTS, 7), (EDGES, 3)])
def test_pairs_hold_their_contrast(theme: str, pairs: tuple[tuple[str, str], ...], least: float) -> None:
    colours = blocks()[theme]
    weak = {f"{front} on {back}": round(contrast(colours[front], colours[back]), 2) for front, back in pairs
            if contrast(colours[front], colours[back]) < least}
    assert weak == {}


def test_every_colour_and_measure_that_is_used_is_defined() -> None:
    texts = {path.name: path.read_text(encoding="utf-8") for path in CSS.glob("*.css")}
    defined = {name for text in texts.values() for name in re.findall(r"(?m)^\s*--([\w-]+):", text)}
    used = {name for text in texts.values() for name in re.findall(r"var\(--([\w-]+)\)", text)}
    assert used - defined == set()


def test_colours_are_written_nowhere_but_in_the_tokens_and_on_paper() -> None:
    for path in CSS.glob("*.css"):
        if path.name not in ("tokens.css", "print.css"):
            assert re.findall(r"#[0-9a-f]{3,8}\b(?=\s*[;,)])", path.read_text(encoding="utf-8")) == [], path.name


def test_every_font_that_is_asked_for_is_in_its_package() -> None:
    from app.access.device_views import font_files

    asked = re.findall(r'url\("/fonts/([^"]+)"\)', (CSS / "fonts.css").read_text(encoding="utf-8"))
    assert len(asked) == 6
    assert set(asked) <= set(font_files())
