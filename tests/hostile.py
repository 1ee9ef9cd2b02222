"""Text that somebody could type, and that a careless page would obey: in every text of a filled shop, and sent with every form."""

from __future__ import annotations

import json
import random
import re
import sqlite3
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urljoin, urlsplit
from xml.etree import ElementTree as Xml

import sqlalchemy as sa
from flask import Flask
from flask.testing import FlaskClient
from html5lib.html5parser import ParseError
from werkzeug.exceptions import HTTPException

from app import tables
from app.db import Base
from tests.pages import HTML, Page, check, values

# An element, an entity, both quotes, an end of what it may stand in, two template languages, a sum that one of them would work out,
# and U+202E, which turns round what follows.
HOSTILE = "zqx<b class=\"zq\">&copy;'\"></textarea></script>{{7919*7907}}{% zq %}${7919*7907}\u202ezq"
SUM = str(7919 * 7907)
UNESCAPED = ("zqx<", "&copy;", SUM, "zqx&amp;lt;", "&amp;amp;copy;")
# Text that the program itself reads: hashes, keys, closed lists, drawings, addresses. Everything else is somebody's words.
READ_BY_THE_PROGRAM = {
    "alembic_version.version_num", "brought_in.sha256", "brought_in.what", "collection_notice.fates", "collection_notice.wait_to",
    "drawing.media_type", "drawing.sha256", "drawing.thumb_sha256", "drawing.web_sha256",
    "finding.code", "finding.probability", "finding.signs", "sound_figure.unit",
    "finding.track", "guesses.kind", "hardware_class.kind", "journal_entry.event", "journal_entry.hash",
    "journal_entry.previous_hash", "journal_entry.subject_type", "kept_sum.section", "leftover.record_table",
    "person.password_hash", "person.pin_hash", "photo.media_type", "photo.sha256", "photo.thumb_sha256", "photo.web_sha256",
    "profile_step.rule", "quote.currency", "quote_issued_line.risk", "declined_work.risk", "return_signature.signature",
    "safety_profile.key", "safety_test.protection", "search_entry.kind", "shop.currency", "shop.jurisdiction", "shop.paper",
    "shop.opening_hours", "shop.closed_days", "shop.time_zone", "step_record.step",
    "closure_count.step", "terms_acceptance.jurisdiction", "terms_acceptance.signature",
    "unrepaired_acknowledgement.signature", "quote_authorisation.signature", "usual_finding.code", "usual_finding.probability",
    "usual_finding.signs", "declined_work.signature", "issued_document.media_type", "reading.unit", "step_record.lacked",
    "sum_use.figure", "sum_use.unit",
    "terms_acceptance.text_sha256", "return_signature.text_sha256", "unrepaired_acknowledgement.text_sha256",
}
TYPED = ("text", "search", "email", "tel")
KEYS = {"once_key", "held_post", "sign_in", "enrol_code", "device", "password_code", "badge", "passkey"}
LISTS = {"closure_count.faults", "removal.stack"}  # JSON: lists of somebody's words
BY_HASH = {"issued_document.sha256", "issued_document.page_sha256", "issued_document.facts_sha256", "issued_document.draft",
           "issued_document.journal_hash", "device.secret_hash"}


def words_of_somebody() -> Iterator[sa.Column[Any]]:
    """Every column that holds what a person wrote, or a name."""
    assert tables
    for table in Base.metadata.sorted_tables:
        for column in table.columns:
            is_text = isinstance(column.type, sa.String) and not isinstance(column.type, sa.Enum)
            if is_text and f"{table.name}.{column.name}" not in READ_BY_THE_PROGRAM | BY_HASH and table.name not in KEYS \
                    and not column.name.endswith("_json"):
                yield column


def fill(database: Path) -> int:
    """Put it into every word of every row that has some; how many columns. The shop says tube, so that words are swapped."""
    columns = list(words_of_somebody())
    connection = sqlite3.connect(database)
    try:
        connection.execute("PRAGMA ignore_check_constraints=ON")
        for (trigger,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f'DROP TRIGGER "{trigger}"')
        for column in columns:
            told = _json() if f"{column.table.name}.{column.name}" in ("journal_entry.before", "journal_entry.after") else HOSTILE
            more = "|| ' ' || rowid" if column.name in _unique(column.table) else ""
            connection.execute(f'UPDATE "{column.table.name}" SET "{column.name}" = ? {more} '  # noqa: S608 - names of our own tables
                               f'WHERE "{column.name}" <> \'\'', (told,))
        for name in LISTS:
            table, _, column_name = name.partition(".")
            connection.execute(f'UPDATE "{table}" SET "{column_name}" = ? WHERE "{column_name}" <> \'[]\'',  # noqa: S608 - as above
                               (json.dumps([HOSTILE, HOSTILE]),))
        connection.execute("UPDATE shop SET wording = 'tube'")
        connection.commit()
    finally:
        connection.close()
    return len(columns)


def _unique(table: sa.FromClause) -> set[str]:
    """Columns of which no two rows are alike, alone or with others."""
    assert isinstance(table, sa.Table)
    rules = [one for one in table.constraints if isinstance(one, sa.UniqueConstraint)]
    return {column.name for rule in (*rules, *(one for one in table.indexes if one.unique)) for column in rule.columns}


def _json() -> str:
    return json.dumps({HOSTILE: HOSTILE})


@dataclass
class Walk:
    """Every kind of page that can be come to from the bench list, some of each, and every form on them."""

    app: Flask
    client: FlaskClient
    of_each: int = 6
    escaping: bool = True  # whether what it reads was filled with the text
    seen: dict[str, int] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    forms: dict[str, tuple[str, Xml.Element]] = field(default_factory=dict)
    answers: Counter[tuple[str, int]] = field(default_factory=Counter)  # what kind of page answered how

    def everywhere(self, *more: str) -> None:
        """Follow the links in no order, so that not one order is all that is seen, to so many pages of each kind."""
        asked, waiting, chance = {"/"}, ["/", *more], random.Random(len(HOSTILE))
        while waiting:
            path = waiting.pop(chance.randrange(len(waiting)))
            kind = self.kind_of(path)
            if self.seen.get(kind, 0) >= self.of_each:
                continue
            page = self.read(path, kind)
            for link in re.findall(r'(?:href|src)="([^"#]+)', page.text if page else ""):
                there = urljoin(path, link.replace("&amp;", "&"))
                if there not in asked and not any(urlsplit(there)[:2]) and not there.startswith("/static"):
                    asked.add(there)
                    waiting.append(there)

    def read(self, path: str, kind: str) -> Page | None:
        """One page; what is wrong with it is noted."""
        self.seen[kind] = self.seen.get(kind, 0) + 1
        try:
            page = Page(self.client.get(path, follow_redirects=False))
        except ParseError as broken:
            self.faults.append(f"{path}: {broken}")
            return None
        self.answers[kind, page.status] += 1
        self.look(page, path)
        if self.escaping and self.seen[kind] == 1 and page.response.mimetype == "text/html" and page.status == 200:
            try:
                check(page)
            except AssertionError as wrong:
                self.faults.append(f"{path}: {wrong}")
        for form in page.all("form"):
            if form.get("method") == "post":
                self.forms.setdefault(self.kind_of(form.get("action", ""), "POST"), (path, form))
        return page

    def look(self, page: Page, path: str) -> None:
        """What must not be on it."""
        if page.status >= 500:
            self.faults.append(f"{path}: {page.status}")
        found = [one for one in UNESCAPED if one in page.text]
        found += ["an element"] if page.all("b", class_="zq") or [e for e in page.root.iter() if "zq" in e.tag] else []
        if self.escaping and found and page.response.mimetype in ("text/html", "image/svg+xml"):
            at = page.text.find(found[0])
            self.faults.append(f"{path}: {found} in …{page.text[max(at - 160, 0):at + 60]!r}")

    def kind_of(self, path: str, method: str = "GET") -> str:
        try:
            endpoint, given = self.app.url_map.bind("").match(urlsplit(path).path, method=method)
        except HTTPException as wrong:
            raise AssertionError(f"{path} leads nowhere") from wrong
        return " ".join([endpoint, *(str(given[name]) for name in ("kind",) if name in given)])

    def send(self, form: Xml.Element, *, everywhere: bool) -> Page:
        """This form with the text in what can be typed, or in every field but its tokens."""
        sent = values(form)
        for element in form.iter():
            name, kind = element.get("name") or "", element.get("type", "text")
            typed = element.tag == HTML + "textarea" or (element.tag == HTML + "input" and kind in TYPED)
            kept = name in ("page_token", "once", "version") or kind in ("file", "submit")
            if name and not kept and (typed or everywhere) and element.tag != HTML + "button":
                sent[name] = HOSTILE
        if everywhere:
            sent["once"] = sent.get("once", "") + "-2"
        action = form.get("action", "")
        page = Page(self.client.post(action, data=sent))
        self.look(page, f"POST {action}")
        return page
