"""Every page that can be come to, in a real browser, in both sizes and both lights.

axe-core 4 is the reference for the accessibility rules. Sizes: WCAG 2.2, 1.4.10 (320 px without scrolling sideways), 2.5.8 (no
target under 24 px, but for links within a sentence) and, as the house's own rules, 44 px for buttons and fields, 48 px on pages of
the bench, and tabs of less than 180 px on a phone. With gloves nothing is wider than the screen either.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from flask import Flask
from playwright.sync_api import Browser, Page

from app.kernel.tokens import SIGN_IN_COOKIE
from tests.browser import crawl
from tests.browser.furnished import furnish
from tests.pages import PageClient
from tests.people import Cast
from tests.served import READY, watched

pytestmark = [pytest.mark.browser, pytest.mark.timeout(900)]
WIDTHS = (1180, 390, 320)
LIGHTS = ("light", "dark")
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"], "resultTypes": ["violations"]}
ALIKE = "sums."  # some thirty sheets of one template: twice each is enough
COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}, "resultTypes": ["violations"]}
# What is measured on a page as it stands. A link keeps the line's height only within a sentence: words of its block that are no
# link (2.5.8, inline). A pin on a photo stands where the fault is (2.5.8, essential) and still has its 24 px.
MEASURE = """() => {
  const least = document.body.dataset.room === 'bench' ? 47.5 : 43.5;
  const seen = { visibilityProperty: true, opacityProperty: true };
  const shown = (each) => each.checkVisibility(seen) && each.getClientRects().length > 0;
  const say = (each) => each.outerHTML.replace(/\\s+/g, ' ').slice(0, 110);
  const box = (each) => each.getBoundingClientRect();
  const every = 'a[href], button, input:not([type=hidden]), select, textarea, summary';
  const targets = [...document.querySelectorAll(every)].filter(shown);
  const letters = (node) => node.textContent.replace(/[^\\p{L}]/gu, '').length;
  const block = (each) => { let at = each.parentElement;
    while (getComputedStyle(at).display.startsWith('inline')) at = at.parentElement;
    return at; };
  const sentence = (at) => letters(at) - [...at.querySelectorAll('a, button, .vh')].reduce((sum, one) => sum + letters(one), 0) > 5;
  const inline = (each) => each.matches('a') && getComputedStyle(each).display === 'inline' && !each.closest('svg')
    && sentence(block(each));
  const labelled = (each) => (each.matches('[type=radio], [type=checkbox], [type=file]') && each.labels[0]) || each;
  const small = targets.filter((each) => !inline(each)).map(labelled)
    .filter((each) => box(each).width > 1 && (box(each).height < 23.5 || box(each).width < 23.5));
  const low = targets.filter((each) => each.matches('main .btn, main button, main input, main select, main textarea')).map(labelled)
    .filter((each) => box(each).width > 1 && box(each).height < least);
  const wide = [...document.querySelectorAll('main *')].filter((each) => !each.closest('.wide, .doc, svg') && shown(each)
    && box(each).right > document.documentElement.clientWidth + 1);
  return {
    'sideways': document.documentElement.scrollWidth > document.documentElement.clientWidth
      ? wide.slice(0, 2).map(say).concat(document.documentElement.scrollWidth) : [],
    'under 24 px': [...new Set(small)].map(say),
    'too low': [...new Set(low)].map((each) => `${Math.round(box(each).height)} px ${say(each)}`),
    'tall tabs': innerWidth < 500 ? [...document.querySelectorAll('.aside-nav')].filter(shown)
      .filter((each) => box(each).height >= 180).map((each) => `${Math.round(box(each).height)} px ${say(each)}`) : [],
    'main buttons': [...document.querySelectorAll('.btn-main')].filter(shown).length > 1
      ? [...document.querySelectorAll('.btn-main')].filter(shown).map(say) : [],
  };
}"""
# A focus ring or some other change that shows where the keyboard is.
FOCUS = """() => {
  const look = (each) => { const s = getComputedStyle(each);
    const ring = s.outlineStyle === 'none' ? '' : s.outlineWidth + s.outlineColor;
    return [ring, s.boxShadow, s.borderColor, s.backgroundColor].join(); };
  const labelled = (each) => (each.matches('[type=radio], [type=checkbox], [type=file]') && each.labels[0]) || each;
  const missing = [];
  for (const each of document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary')) {
    if (!each.checkVisibility({ visibilityProperty: true }) || each.disabled) continue;
    const seen = labelled(each);
    const before = look(seen) + look(each);
    each.focus({ preventScroll: true, focusVisible: true });
    if (document.activeElement === each && look(seen) + look(each) === before) missing.push(each.outerHTML.slice(0, 110));
    each.blur();
  }
  return missing;
}"""


@pytest.fixture
def engine_name() -> str:
    """Pages do not differ by engine; their queries are tried on both elsewhere."""
    return "sqlite"


def faults_of(page: Page, axe: Axe, rules: dict[str, Any]) -> list[str]:
    return [f"{one['id']}: {node['html'][:110]} {node.get('failureSummary', '')[:160]}"
            for one in axe.run(page, options=rules).response["violations"] for node in one["nodes"][:2]]


def look_at(page: Page, axe: Axe, kind: str, path: str) -> list[str]:
    """Everything that is wrong with one page."""
    found: list[str] = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 820})
        if width == WIDTHS[0]:
            page.goto(path)
            page.wait_for_selector(READY, state="attached")
        for light in LIGHTS:
            page.emulate_media(color_scheme=light, reduced_motion="reduce")
            whole = (width, light) in ((1180, "light"), (320, "dark"))
            if kind.startswith(ALIKE) and not whole:
                continue
            rules = RULES if whole else COLOURS
            found += [f"{width} {light} {one}" for one in faults_of(page, axe, rules)]
        measured: dict[str, list[str]] = page.evaluate(MEASURE)
        found += [f"{width} {what}: {one}" for what, faults in measured.items() for one in faults]
    page.evaluate("document.body.dataset.gloves = 'on'")
    found += [f"320 gloves {what}: {one}" for what, faults in page.evaluate(MEASURE).items() for one in faults
              if what in ("sideways", "under 24 px")]
    found += [f"focus not seen: {one}" for one in page.evaluate(FOCUS)]
    return [f"{kind} {path} {one}" for one in found]


@pytest.mark.parametrize("half", [0, 1])
def test_every_page_can_be_read_reached_and_tapped_by_everybody(app: Flask, address: str, browser: Browser, cast: Cast,
                                                                tmp_path: Path, half: int) -> None:
    """Two halves, so that two workers share the walk."""
    with app.app_context():
        furnish()
    owner = PageClient(app).sign_in(cast.owner)
    found = crawl.pages(app, owner.client)
    context = browser.new_context(base_url=address, has_touch=True)
    context.set_default_timeout(30_000)
    token = owner.client.get_cookie(SIGN_IN_COOKIE)
    assert token is not None
    context.add_cookies([{"name": SIGN_IN_COOKIE, "value": token.value, "url": address}])
    complaints: list[str] = []
    page, axe = watched(context, complaints), Axe()
    faults = [f"no link leads to {view}" for view in sorted(crawl.views(app) - {kind.split()[0] for kind in found})]
    for kind, path in sorted({**found, **BEFORE_SIGN_IN}.items())[half::2]:
        if crawl.asks_password(app, path):
            crawl.password_again(app)
        faults += look_at(page, axe, kind, path)
        faults += [f"{kind} {path} the browser says: {one}" for one in complaints]
        complaints.clear()
    context.close()
    print(f"{len(found) + len(BEFORE_SIGN_IN)} pages at {WIDTHS} px in {LIGHTS}")
    assert not faults, "\n".join(["", *faults])


SPOIL = """() => {
  const low = document.createElement('button');
  Object.assign(low.style, { height: '20px', minHeight: '0', padding: '0', color: '#777', background: '#888' });
  Object.assign(low, { className: 'btn-main', textContent: 'Low' });
  const wide = document.createElement('p');
  wide.textContent = 'Wide';
  Object.assign(wide.style, { width: '2000px', maxWidth: 'none' });
  const picture = document.createElement('img');
  picture.src = '/static/img/mark.svg';
  const tabs = document.createElement('nav');
  tabs.className = 'aside-nav';
  tabs.style.height = '200px';
  document.querySelector('main').append(low, wide, picture, tabs);
}"""


def test_faults_are_seen(address: str, browser: Browser) -> None:
    """The same measures on a page that was spoilt on purpose: each of them speaks."""
    context = browser.new_context(base_url=address, viewport={"width": 320, "height": 820})
    page = watched(context, [])
    page.goto("/people/sign-in")
    page.wait_for_selector(READY, state="attached")
    assert [one for faults in page.evaluate(MEASURE).values() for one in faults] == []
    page.evaluate(SPOIL)
    measured = page.evaluate(MEASURE)
    assert [what for what, faults in measured.items() if not faults] == []
    assert {one.split(":")[0] for one in faults_of(page, Axe(), RULES)} >= {"image-alt", "color-contrast"}
    context.close()


BEFORE_SIGN_IN = {"access.sign_in": "/people/sign-in", "staff.enrol": "/people/enrol",
                  "staff.set_password": "/people/set-password"}
