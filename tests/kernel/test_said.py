"""What a form says to entries that it cannot take: what to enter. (Style of the house; no source outside it.)"""

from __future__ import annotations

import pytest
from flask import Flask
from werkzeug.datastructures import MultiDict
from wtforms import DecimalField, IntegerField, RadioField, SelectField, SelectMultipleField, StringField
from wtforms.validators import InputRequired, Length, NumberRange

from app.db import transaction
from app.kernel.form_fields import House, options
from app.kernel.form_messages import CHOOSE, NUMBER, WHOLE
from app.shop.queries import the_shop
from app.shop.wording import Pack
from tests.pages import PageClient


class Sample(House):
    one = RadioField(choices=options([("a", "a")]))
    of = SelectField(coerce=int, choices=options([(1, "one")]))
    some = SelectMultipleField(choices=options([("a", "a")]))
    whole = IntegerField(validators=[NumberRange(1, 9)])
    part = DecimalField(validators=[NumberRange(0)])
    word = StringField(validators=[Length(max=4)])
    given = StringField(validators=[InputRequired()])


@pytest.mark.parametrize(("field", "typed", "said"), [
    ("one", "b", CHOOSE), ("of", "2", CHOOSE), ("of", "x", CHOOSE), ("some", "b", CHOOSE), ("whole", "x", WHOLE),
    ("whole", "12", "Enter a number from 1 to 9."), ("part", "x", NUMBER), ("part", "-1", "Enter 0 or more."),
    ("word", "longer", "That is too long. Use 4 characters or fewer."), ("given", "", "Fill this in.")])
def test_an_entry_that_cannot_be_taken_is_told_what_to_enter(context: Flask, field: str, typed: str, said: str) -> None:
    form = Sample(MultiDict({field: typed}))
    form.validate()
    assert form[field].errors[0] == said


def test_a_choice_that_was_not_shown_is_refused_in_our_words(app: Flask, owner: PageClient) -> None:
    page = owner.post("/shop", {"jurisdiction": "atlantis"})
    assert CHOOSE in page.words and "valid" not in page.words.lower().replace("is valid for", "")


def test_choices_are_said_in_the_shops_words_and_sent_as_they_are(app: Flask) -> None:
    class Where(House):
        at = SelectField(choices=options([("earth", "at the earth end")]))

    with app.test_request_context():
        with transaction():
            the_shop().wording = Pack.TUBE
        form = Where(MultiDict({"at": "earth"}))
        assert '<option selected value="earth">at the ground end</option>' in form.at() and form.validate()
