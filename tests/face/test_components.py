"""The components, drawn on one page: whole markup, everything named, nothing inline."""

from __future__ import annotations

import re
from pathlib import Path

import html5lib
import pytest
from flask.testing import FlaskClient

from tests.face.kitchen import create_kitchen

HOUSE = Path(__file__).parents[2]
NS = "{http://www.w3.org/1999/xhtml}"


@pytest.fixture(scope="module")
def client() -> FlaskClient:
    return create_kitchen().test_client()


def parsed(text: str):  # type: ignore[no-untyped-def]
    """The tree of a page; html5lib raises on the first fault in the markup."""
    return html5lib.HTMLParser(strict=True).parse(text)


@pytest.mark.parametrize("method", ["get", "post"])
def test_the_page_is_valid_with_and_without_errors(client: FlaskClient, method: str) -> None:
    answer = getattr(client, method)("/")
    assert answer.status_code == 200
    parsed(answer.text)


def test_no_id_stands_twice_and_every_reference_is_there(client: FlaskClient) -> None:
    tree = parsed(client.post("/").text)
    ids = [each.get("id") for each in tree.iter() if each.get("id")]
    assert sorted(set(ids)) == sorted(ids)
    for each in tree.iter():
        for name in ("for", "aria-describedby", "aria-labelledby"):
            for reference in (each.get(name) or "").split():
                assert reference in ids, f"{name}={reference}"
        if (each.get("href") or "").startswith("#"):
            assert each.get("href")[1:] in ids


def test_nothing_inline(client: FlaskClient) -> None:
    tree = parsed(client.post("/").text)
    for each in tree.iter():
        assert "style" not in each.attrib
        assert not [name for name in each.attrib if isinstance(name, str) and name.startswith("on")]
    assert [each.get("src") for each in tree.iter(f"{NS}script")] == ["/static/js/main.mjs"]
    assert list(tree.iter(f"{NS}style")) == []


def test_every_control_has_a_name_for_readers(client: FlaskClient) -> None:
    tree = parsed(client.get("/").text)
    labelled = {each.get("for") for each in tree.iter(f"{NS}label")}
    for each in tree.iter():
        if each.tag in (f"{NS}input", f"{NS}select", f"{NS}textarea") and each.get("type") != "hidden":
            assert each.get("id") in labelled


def test_an_error_stands_beside_its_field_and_in_the_summary_in_the_same_words(client: FlaskClient) -> None:
    text = client.post("/").text
    assert text.index('class="errors"') < text.index("<h1")
    assert "<title>Error: Kitchen · Repair 1047 · Tagstrip</title>" in text
    for field, words in (("what", "Say in a few words what it is"), ("ohms", "Enter the reading, for example 4k7"),
                         ("origin", "Choose where it is from")):
        assert f'<a href="#{field}">{words}</a>' in text
        assert re.search(rf'id="{field}-error">(?:(?!</p>).)*{words}', text, re.DOTALL)
    assert re.search(r'<input[^>]*aria-describedby="ohms-error ohms-hint ohms-unit"[^>]*aria-invalid="true"', text)


def test_one_main_action_in_the_form(client: FlaskClient) -> None:
    form = client.get("/").text.split('data-draft="kitchen"')[1].split("</form>")[0]
    assert form.count("btn-main") == 1
    assert 'name="page_token"' in form
    assert 'name="once"' in form


@pytest.mark.parametrize(("now", "state", "words"), [
    (1, "present", ["Intake: made off 16 Nov 2026", "Teardown: present stage", "Return: open"]),
    (4, "held", ["Parts: made off 16 Nov 2026", "Reassembly: held", "Safety test: open"]),
    (7, "present", ["Return: made off 16 Nov 2026"]),
])
def test_the_strip_says_its_state_in_words(client: FlaskClient, now: int, state: str, words: list[str]) -> None:
    text = client.get("/", query_string={"now": now, "state": state}).text
    for each in words:
        assert each in text
    assert text.count('aria-current="step"') == (1 if now < 7 else 0)
    small = "All made off" if now == 7 else "Teardown" if now == 1 else "Reassembly · held"
    assert f'<span class="strip-small-word">{small}</span>' in text


@pytest.mark.parametrize(("at", "said"), [
    (0, "441, within the band 421 to 455"), (1, "-38.6, outside the band -54 to -49"),
    (2, "0.082, within the limit: at most 0.159"), (3, "38, within the limit: at least 1"), (5, "not read"),
])
def test_a_band_says_where_the_reading_lies(client: FlaskClient, at: int, said: str) -> None:
    labels = re.findall(r'<svg class="band"[^>]*aria-label="([^"]*)"', client.get("/").text)
    assert labels[at].startswith(said)


def test_every_kind_of_verdict_has_its_own_shape(client: FlaskClient) -> None:
    text = client.get("/").text
    shapes = dict(reversed(re.findall(r'class="verdict verdict-\w+">(<svg.*?</svg>)([a-z ]+)<', text, re.DOTALL)[i])
                  for i in range(9))
    assert list(shapes) == ["pass", "in doubt", "fail", "not read", "serious", "high", "medium", "low", "none"]
    assert len({shapes[word] for word in ("pass", "in doubt", "fail", "not read", "serious", "low")}) == 6


def test_every_module_that_markup_names_exists_and_can_start() -> None:
    named = set()
    for path in (HOUSE / "templates").rglob("*.html"):
        for names in re.findall(r'data-module="([^"]*)"', path.read_text(encoding="utf-8")):
            named |= set(re.findall(r"[a-z][a-z-]+", re.sub(r"\{\{.*?\}\}", " ", names)))
    assert {"once-guard", "theme", "stepper", "file-pick", "signature", "error-summary"} <= named
    for name in named | {"draft"}:
        text = (HOUSE / "static" / "js" / f"{name}.mjs").read_text(encoding="utf-8")
        assert text.startswith("/* "), f"{name} has no manual at its head"
        assert re.search(r"export (async )?function start\(", text), name


def test_no_template_of_the_face_writes_style_or_script() -> None:
    for path in [HOUSE / "templates" / "base.html", *(HOUSE / "templates" / "components").glob("*.html")]:
        text = re.sub(r"\{#.*?#\}", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        assert not re.search(r"\sstyle=|\son[a-z]+=|<style|javascript:|\|\s*safe", text), path.name
