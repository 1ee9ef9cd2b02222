"""The one filled shop of a test run: every story of the demo, one of everything on every page, and every correction there is.

It is played once a session, on blank pictures and papers, and watched while it is played (`tests/tracing.py`). Tests read it, or
take a copy and do with that what they like.
"""

from __future__ import annotations

import io
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask
from PIL import Image

from app import config, create_app
from app.access.models import Person
from app.access.rules import Role
from app.db import session
from app.documents import pdf
from demo_data import play
from demo_data.darkroom import Plate, key
from demo_data.stories import STORIES
from demo_data.story import Picture
from tests.browser.furnished import furnish
from tests.corrections import correct
from tests.documents.children import ODD
from tests.people import Somebody
from tests.tracing import Trace, tracing

PICTURES = [one for story in STORIES for one in (*story.outside, *story.inside, *story.left)]


@dataclass(frozen=True)
class WholeShop:
    """Where it lies, what its services did, and the folder of the demo's stories alone."""

    data: Path
    told: Path
    trace: Trace
    left_running: int | None  # the process of the papers after the stories, if it did not end

    def copied(self, folder: Path) -> Path:
        """A copy of its data folder to do anything with."""
        return Path(shutil.copytree(self.data, folder))


@contextmanager
def blank(_wanted: object) -> Iterator[Callable[[Picture], Plate]]:
    """In place of each drawing a grey of its own: the shop refuses the same photo twice."""
    shades = {key(one): number for number, one in enumerate(PICTURES)}

    def plate(one: Picture) -> Plate:
        out = io.BytesIO()
        Image.new("RGB", (64, 48), (shades[key(one)], 90, 90)).save(out, "JPEG")
        return out.getvalue(), {}

    yield plate


def play_it(folder: Path) -> WholeShop:
    """Play it into this folder; ends with no connection open."""
    told, data = folder / "told", folder / "whole"
    with pytest.MonkeyPatch.context() as patch, tracing() as trace:
        patch.delenv("TAGSTRIP_DATABASE_URL", raising=False)
        patch.setattr(play, "developing", blank)
        patch.setattr(pdf, "shared", pdf.Renderer(ODD))
        play.make_shop(told, told / "sign-ins.txt")
        left = pdf.shared.pid
        shutil.copytree(told, data)
        with opened(data) as app, app.test_request_context():
            furnish()
            correct()
    return WholeShop(data, told, trace, left)


@contextmanager
def opened(data: Path) -> Iterator[Flask]:
    """An application on such a folder."""
    app = create_app(config.load(data))
    try:
        yield app
    finally:
        app.extensions["tagstrip_db"].close()


def somebody(app: Flask, role: Role) -> Somebody:
    """Who has this role there."""
    with app.test_request_context():
        person = session().scalars(sa.select(Person).where(Person.role == role, Person.active).order_by(Person.id)).first()
        assert person is not None
        return Somebody(person.id, person.name)
