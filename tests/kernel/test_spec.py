"""One spec of fields per record: a field added to it is in the form, the facts and the journal, and nowhere else."""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask
from werkzeug.datastructures import MultiDict

from app.boards.forms import BoardForm, PositionForm
from app.boards.models import Board, BoardPosition
from app.boards.spec import BoardFacts, PositionFacts
from app.findings.forms.catalogue import UsualForm
from app.findings.forms.findings import FindingForm
from app.findings.models.catalogue import UsualFinding
from app.findings.models.findings import Finding
from app.findings.rules.life import Area
from app.findings.spec import Decided, FindingFacts, UsualFacts
from app.intake.forms.records import AmpForm, CheckInForm, CustomerForm
from app.kernel.form_fields import House
from app.kernel.spec import Choice, Fed, Text, asked, columns, journal_facts, spec_of, tidied, values
from app.kernel.spec_forms import asks, read_facts, shown
from app.measuring.forms import InstrumentForm, PointForm
from app.measuring.models import Instrument, Point
from app.measuring.spec import InstrumentFacts, PointFacts
from app.parts.forms import NeedForm
from app.parts.models import Part
from app.parts.rules import CalledFor, Need, PlaceAsks
from app.quote.forms import LineForm
from app.quote.models import QuoteLine
from app.quote.rules.lines import Draft, HoursAsked
from app.records.models import Amp, Customer
from app.records.spec import AmpFacts, CustomerFacts
from app.removals.forms import FateFields, RemovalForm
from app.removals.models import Removal
from app.removals.spec import RemovalFacts, Tagged

# Every record whose form takes a spec: its table, and the specs that its rows keep.
RECORDS: dict[type[Any], tuple[type[Any], ...]] = {
    Finding: (FindingFacts, Decided), UsualFinding: (UsualFacts,), Removal: (RemovalFacts, Tagged), Board: (BoardFacts,),
    BoardPosition: (PositionFacts,), Instrument: (InstrumentFacts,), Point: (PointFacts,), Customer: (CustomerFacts,),
    Amp: (AmpFacts,), Part: (Need, PlaceAsks, CalledFor), QuoteLine: (Draft, HoursAsked)}
FORMS = (FindingForm, UsualForm, RemovalForm, FateFields, BoardForm, PositionForm, InstrumentForm, PointForm, CustomerForm, AmpForm,
         CheckInForm, NeedForm, LineForm)
# The check-in begins more records on the same page: the complaint, the order that comes back after another, and two more people.
BEGINS = {CheckInForm: {"complaint", "come_back_of", "also_reached", "as_new",
                        *(f"{role}_{part}" for role in ("owner", "approver") for part in ("is", "name", "phone", "email"))}}


class Strength(StrEnum):
    FAINT = "faint"
    STRONG = "strong"


@dataclass(frozen=True)
class LargerFacts(FindingFacts):
    """The facts of a finding with two fields more, as somebody who follows the recipe writes them."""

    added_words: str = asked(Text("Words that were added", longest=20), "")
    added_choice: Strength | None = asked(Choice("How strong", words=values(Strength), journal="how strong it is"), None)


@asks(LargerFacts)
class LargerForm(House):
    """The form of a finding with two fields more."""


class Row:
    """Stands for a finding's row with two columns more."""

    def __init__(self, facts: LargerFacts) -> None:
        vars(self).update(columns(facts))


ENTERED = {"observation": "burnt  resistor ", "area": "boards", "origin": "wear", "confidence": "probable",
           "added_words": " ozone ", "added_choice": "strong"}


def entered(**more: str) -> LargerForm:
    return LargerForm(MultiDict({**ENTERED, **more}))


def test_a_field_added_to_the_spec_is_in_form_facts_and_journal(context: Flask) -> None:
    form = entered()
    assert form.validate() and form.added_words.label.text == "Words that were added"
    facts = tidied(read_facts(form, LargerFacts))
    assert (facts.observation, facts.area) == ("burnt resistor", Area.BOARDS)
    assert (facts.added_words, facts.added_choice) == ("ozone", Strength.STRONG)
    told = journal_facts(Row(facts), LargerFacts)
    assert (told["added words"], told["how strong it is"]) == ("ozone", "strong")
    assert told.keys() - {"added words", "how strong it is"} == journal_facts(facts, FindingFacts).keys()
    again = LargerForm(None, data=shown(Row(facts), LargerFacts))
    assert again.added_words.data == "ozone" and [one.checked for one in again.added_choice] == [False, True]


def test_an_added_field_may_stay_empty_and_keeps_its_limits(context: Flask) -> None:
    left = entered(added_words="", added_choice="")
    assert left.validate()
    facts = read_facts(left, LargerFacts)
    assert (facts.added_words, facts.added_choice) == ("", None)
    assert journal_facts(facts, LargerFacts)["how strong it is"] == ""
    long, odd = entered(added_words="o" * 21), entered(added_choice="overwhelming")
    assert not long.validate() and long.errors.keys() == {"added_words"}
    assert not odd.validate() and odd.errors.keys() == {"added_choice"}


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.__name__)
def test_no_form_of_a_record_declares_a_field_outside_its_spec(form: type[House]) -> None:
    from_spec = {name for facts in form.asked_of for name, how in spec_of(facts).items() if not isinstance(how, Fed)}
    every = {name for facts in form.asked_of for name in spec_of(facts)}
    declared = {name for name in dir(form) if hasattr(getattr(form, name), "field_class")}
    assert form.asked_of
    assert declared - from_spec == form.feeds.keys() | BEGINS.get(form, set())
    assert set(form.feeds.values()) <= every


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.__name__)
def test_every_field_that_is_asked_is_a_column_and_every_journal_name_is_its_own(record: type[Any]) -> None:
    kept = {column.key for column in sa.inspect(record).attrs}
    for facts in RECORDS[record]:
        assert spec_of(facts).keys() <= kept | {"fasteners", "lacked", "under"}  # three properties of a removal, kept in rows
    names = [how.journal or name for facts in RECORDS[record] for name, how in spec_of(facts).items() if how.journal is not None]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("facts", [one for specs in RECORDS.values() for one in specs], ids=lambda facts: facts.__name__)
def test_every_field_of_the_facts_says_how_it_is_asked(facts: type[Any]) -> None:
    unasked = {field.name for field in fields(facts)} - spec_of(facts).keys()
    made_of_others: dict[type[Any], set[str]] = {Need: {"rating", "condition"}, Draft: {"hours", "finding_id"}}
    assert unasked == made_of_others.get(facts, set())
    for how in spec_of(facts).values():
        assert how.label or isinstance(how, Fed) or getattr(how, "sort", "") == "hidden"
