from __future__ import annotations

import itertools
from datetime import UTC, date, datetime

import pytest
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput
from app.estimating import calibrate
from app.exchange import csv_rows as entries
from app.exchange import queries
from app.exchange.csv_file import Sheet, read
from app.exchange.csv_import import plan, take_in
from app.exchange.models import PastJob
from tests.pages import PageClient
from tests.parts import make as parts
from tests.people import BY
from tests.quote import make as quotes

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
ENCODINGS = {"utf-8": "UTF-8", "utf-8-sig": "UTF-8 with a mark", "utf-16": "UTF-16", "utf-16-le": "UTF-16 without a mark",
             "utf-16-be": "UTF-16 without a mark", "latin-1": "Latin-1"}
JOBS = "kind{d}estimated hours{d}actual hours{d}model{d}finished on\r\nrécap{d}2{p}5{d}3{p}25{d}Meridian{d}2025-11-03\r\n"


def jobs(sheet: Sheet) -> list[object]:
    found, bad = entries.rows(sheet, entries.told(sheet))
    comma = entries.decimal_comma(found, ("estimated hours", "actual hours"))
    made, more = entries.each(found, lambda row: entries.job(row, comma))
    assert not bad + more, bad + more
    return made


@pytest.mark.parametrize(("encoding", "delimiter", "point"), [
    case for case in itertools.product(ENCODINGS, ",;\t", ".,") if case[1:] != (",", ",")])
def test_a_file_is_read_alike_however_it_was_saved(encoding: str, delimiter: str, point: str) -> None:
    sheet = read(JOBS.format(d=delimiter, p=point).encode(encoding))
    assert (sheet.encoding, sheet.delimiter) == (ENCODINGS[encoding], {",": "comma", ";": "semicolon", "\t": "tab"}[delimiter])
    assert jobs(sheet) == [entries.Job("récap", 2.5, 3.25, "Meridian", date(2025, 11, 3))]


NAMES = {
    "latin-1": "name;phone\nÅsa Lindqvist;0412\nJosé Muñoz;0413\nFrançois Lefèvre;0414\n",
    "cp1252": "number,what,price\nC-22,“Coupling” – 22 nF,€ 3.50\n",
    "cp1250": "nazwisko;ulica\nŁukasz Wiśniewski;Źródlana 4\nMałgorzata Wójcik;Kraków\nZdzisław Żółć;Łódź\n",
    "cp1251": "имя;улица\nИван Петров;Ленина 5\nСветлана Кузнецова;Москва\n",
    "mac_roman": "name;phone\nÅsa Lindqvist;0412\nJosé Muñoz;0413\nFrançois Lefèvre;0414\n",
    "cp850": "Name;Straße\nJürgen Größler;Müllerstraße 5\nBärbel Öztürk;Köln\n",
}


@pytest.mark.parametrize("codec", NAMES)
def test_an_old_table_of_signs_is_told_by_the_words_that_it_gives(codec: str) -> None:
    """The tables are Unicode's own mappings as Python carries them."""
    sheet = read(NAMES[codec].encode(codec))
    first = NAMES[codec].splitlines()[1]
    assert "".join(sheet.rows[0][1]) == first.replace(";", "").replace(",", "") and sheet.encoding.startswith(ENCODED[codec])


ENCODED = {"latin-1": "Latin-1", "cp1252": "Windows-1252", "cp1250": "Windows-1250", "cp1251": "Windows-1251",
           "mac_roman": "Mac Roman", "cp850": "code page 850"}
HEAD = "kind;estimated hours;actual hours;finished on\n"


@pytest.mark.parametrize(("body", "words"), [
    ("recap;0;1;", "row 2: estimated hours are “0”"), ("recap;-1;1;", "must be above 0"), ("recap;1001;1;", "at most 1000"),
    ("recap;two;1;", "“two”, which is not a number"), ("recap;;1;", "row 2: the estimated hours is empty"),
    (";1;1;", "row 2: the kind is empty"),
    ("recap;1,234;1;", "two ways"), ("recap;1.234;1;", "two ways"), ("recap;1.234;1,5;", "hours must be above 0 and at most"),
    ("recap;1;1;03/04/2026", "nobody can read in two ways"), ("recap;1;1;31.02.2026", "there is no day 31.02.2026"),
    ("recap;1;1", "row 2: has 3 cells, the first line names 4"), ("recap;1;1;;x", "has 5 cells"),
    ("ok;1;1;\nrecap;inf;1;", "row 3: "),
    ('"two\nlines";1;1;\nrecap;nan;1;', "row 4: "), ("recap;1e3;1;", "not a number"), ("recap;1.23.4;1;", "not a number"),
])
def test_a_row_that_cannot_be_used_is_named_in_words(context: Flask, body: str, words: str) -> None:
    planned = plan("jobs.csv", (HEAD + body + "\n").encode())
    assert words in "\n".join(map(str, planned.wrong))
    with pytest.raises(BadInput, match="nothing was imported"), transaction():
        take_in(planned, by=BY, now=NOW)
    assert session().query(PastJob).count() == 0


@pytest.mark.parametrize(("data", "words"), [
    (b"", "is empty"), (b"\xff\xfea", "ends in the middle of a character"), (b"PK\x03\x04" + bytes(range(40)), "not a CSV file"),
    (b"a,b\n1,2\n", "must name the columns"),
    (b'kind,estimated hours,actual hours\n"recap,1,1\n', "opened and not closed"), (b"name,phone,Phone\nA,1,2\n", "stands twice"),
    (HEAD.encode() + b"a;1,5;1;\nb;1.5;1;\n", "Write all in the same way"),
])
def test_a_file_that_cannot_be_read_as_a_whole_says_why(context: Flask, data: bytes, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        plan("x.csv", data)


def test_a_second_import_adds_nothing_and_like_jobs_stay_apart(context: Flask) -> None:
    data = (HEAD + "recap;2;3;2025-01-02\nrecap;2;3;2025-01-02\nbias;1;1,5;\n").encode()
    for added in (3, 0):
        with transaction():
            assert take_in(plan("jobs.csv", data), by=BY, now=NOW) == added
    assert queries.past_pairs("recap") == [(2.0, 3.0), (2.0, 3.0)]
    assert calibrate(queries.past_pairs()).factor == pytest.approx(1.5)  # the geometric mean of 1.5 three times


def test_a_new_price_is_a_new_row_and_the_newest_counts(context: Flask) -> None:
    for price, added in (("4.50", 1), ("4.50", 0), ("1,234.50", 1)):
        with transaction():
            data = f'part number;description;supplier;price\nC-22u;reservoir 22 µF;Harrow Parts;{price}\n'.encode()
            assert take_in(plan("list.csv", data), by=BY, now=NOW) == added
    assert [part.price_minor for part in queries.listed("reservoir, C-22u.")] == [123450]
    assert not queries.listed("22u reservoir")


def test_past_jobs_and_list_prices_are_read_where_they_are_needed(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = quotes.agreed_order()
        part = parts.part(order, what="C-22u 450 V").id
        line = f"/orders/{order.id}/quote/lines/new"
        at = f"/orders/{order.id}/parts/{part}/order"
    assert "past jobs" not in technician.get(line).words and "On the list" not in technician.get(at).words
    with app.app_context(), transaction():
        take_in(plan("jobs.csv", (HEAD + "recap;2;3;2025-01-02\nbias;1;1,5;\n").encode()), by=BY, now=NOW)
        take_in(plan("list.csv", b"part number;description;supplier;price\nC-22u;reservoir;Harrow Parts;4.50\n"), by=BY, now=NOW)
    # Both took half as long again: the geometric mean of 1.5 and 1.5, without spread.
    assert "2 past jobs took typically 1.5 times their estimated hours" in technician.get(line).words
    assert "On the list of Harrow Parts reservoir: AUD 4.50 each, before tax" in technician.get(at).words


def test_customers_known_already_are_not_taken_twice(context: Flask) -> None:
    data = b"Name,Telephone,Shoe size\nWren Adler,'+61 2 5550,44\nWREN  ADLER,'+61 2 5550,44\nOle Brandt,,39\n"
    first = plan("people.csv", data)
    assert [str(one) for one in first.wrong] == ["row 4: Enter one way to reach them: phone, e-mail or address."]
    assert first.unused == ["Shoe size"] and (len(first.new), first.known) == (1, 1)
    with transaction():
        take_in(plan("people.csv", data.replace(b"Brandt,,", b"Brandt,555,")), by=BY, now=NOW)
    assert plan("people.csv", data).known == 2
