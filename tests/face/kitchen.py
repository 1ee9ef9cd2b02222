"""A page with every component on it, drawn from the real templates, for the tests of the face."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from flask import Flask, flash, redirect, render_template, request, send_file
from jinja2 import FileSystemLoader, StrictUndefined
from markupsafe import Markup
from werkzeug.wrappers import Response
from wtforms import (
    BooleanField,
    FileField,
    Form,
    HiddenField,
    IntegerField,
    PasswordField,
    RadioField,
    SelectChoice,
    SelectField,
    SelectMultipleField,
    StringField,
    TextAreaField,
)
from wtforms.validators import InputRequired, NumberRange, Optional

from app.access.device_views import font_files
from app.kernel.form_fields import draw, is_drawn
from app.kernel.local_forms import counted, plural
from app.kernel.requests import POLICY
from app.kernel.unbroken import unbroken

HOUSE = Path(__file__).parents[2]
STAGES = ("Intake", "Teardown", "Quote", "Parts", "Reassembly", "Safety test", "Return")


@dataclass(frozen=True)
class Lug:
    word: str
    state: str
    note: str


@dataclass(frozen=True)
class Photo:
    id: int
    words: str


def lugs(now: int, state: str = "present") -> list[Lug]:
    """Seven lugs of which the first `now` are made off."""
    return [Lug(word, "made_off" if at < now else state if at == now else "open", "16 Nov 2026" if at < now else "")
            for at, word in enumerate(STAGES)]


def choices(*words: str) -> list[SelectChoice]:
    """Choices whose value is their word."""
    return [SelectChoice(word, word) for word in words]


class Kitchen(Form):  # type: ignore[misc]
    what = StringField("What is it", [InputRequired("Say in a few words what it is")])
    ohms = StringField("Resistance read", [InputRequired("Enter the reading, for example 4k7")])
    words = TextAreaField("In the customer's words", [Optional()])
    secret = PasswordField("PIN", [Optional()])
    tap = SelectField("Mains tap", choices=choices("230 V", "240 V"))
    origin = RadioField("From", choices=choices("wear", "design"),
                        validators=[InputRequired("Choose where it is from")])
    along = SelectMultipleField("Came with", choices=choices("footswitch", "cover"))
    knobs = IntegerField("Knobs", [NumberRange(0, 40)])
    plate = FileField("Photo of the plate")
    mark = HiddenField("Signature")
    read = BooleanField("The customer has read the terms")


def create_kitchen() -> Flask:
    """A small application on the real templates and static files."""
    app = Flask(__name__, static_folder=str(HOUSE / "static"))
    app.secret_key = "only for tests"
    app.jinja_loader = FileSystemLoader([HOUSE / "templates", Path(__file__).parent])
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.globals.update(my_timer=lambda: None, csp_nonce=lambda: "n",
                                 csrf_field=lambda: Markup('<input type="hidden" name="page_token" value="t">'),
                                 once_field=lambda: Markup('<input type="hidden" name="once" value="o">'),
                                 draft_key=lambda: "0f" * 32,
                                 asset=lambda path: f"/static/{path}", kept_with=lambda field: None,  # nothing is kept here
                                 confirmed_keys=lambda: ["o"] if any(one.get("origin") for one in app.config["POSTS"]) else [],
                                 counted=counted, plural=plural, printed_at=lambda: "26 Nov 2026, 14:03",
                                 draw=draw, is_drawn=is_drawn)
    app.jinja_env.filters.update(trade=str, unbroken=unbroken)
    app.config["POSTS"] = []

    @app.context_processor
    def known() -> dict[str, object]:
        return {"theme": request.args.get("theme", "auto"), "person": {"name": "Ines", "role": "technician"},
                "shop": {"name": "Quarry Lane Valve Works", "demo": True}, "gloves": False,
                "nav": [{"word": word, "url": f"/{word.lower()}", "current": word == "Bench"}
                        for word in ("Bench", "Stock")]}

    @app.route("/", methods=["GET", "POST"])
    def kitchen() -> str | Response:
        form = Kitchen(request.form) if request.method == "POST" else Kitchen(data={"knobs": 6, "along": ["cover"]})
        if request.method == "POST":
            app.config["POSTS"].append(request.form.to_dict())
            if form.validate():
                flash("Saved 14:03.", "saved")
                return redirect("/", 303)
        bands = [(421, 438, 455, 441), (-54, -52.1, -49, -38.6), (None, None, 0.159, 0.082), (1, None, None, 38),
                 (5, 5, 5, 5), (1, 2, 3, None), (0, None, 0, 0)]
        return render_template("kitchen.html", form=form, has_errors=bool(form.errors), bands=bands,
                               lugs=lugs(int(request.args.get("now", 1)), request.args.get("state", "present")),
                               photos=[Photo(1, "Board 1, as found"), Photo(2, "Photo 2")])

    app.add_url_rule("/theme", "device.theme", lambda: ("", 204), methods=["POST"])
    app.add_url_rule("/switch", "access.switch", lambda: ("", 204), methods=["POST"])
    app.add_url_rule("/glossary", "bench.glossary", lambda: ("", 204))
    app.add_url_rule("/search", "search.page", lambda: ("", 204))
    app.add_url_rule("/search/box", "search.box", lambda: ("", 204))
    app.add_url_rule("/people/me", "staff.me", lambda: ("", 204))
    app.add_url_rule("/photo/<int:photo_id>/<size>", "photos.show", lambda photo_id, size: ("", 204))
    app.add_url_rule("/fonts/<name>", "font", lambda name: send_file(font_files()[name]))

    @app.after_request
    def guarded(response: Response) -> Response:
        response.headers["Content-Security-Policy"] = POLICY.format(scripts="'self' 'nonce-n' 'strict-dynamic'")
        return response

    return app
