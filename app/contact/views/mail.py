"""What the owner sets for mail: the server, its password, a test, and the templates."""

from __future__ import annotations

from typing import Any

from flask import current_app, flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.contact import password, queries, sender, smtp
from app.contact.facts import KNOWN
from app.contact.forms import PasswordForm, ServerForm, TemplateForm
from app.contact.models import MailServer, MailTemplate
from app.contact.rules import MEGABYTE
from app.contact.service import settings as service
from app.contact.spec import ServerFacts, TemplateFacts
from app.contact.views.common import mail_bp as bp
from app.db import end_reading
from app.errors import BadInput, NotFound, RuleBroken
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, check_fresh, save_or_reshow, saving
from app.kernel.spec_forms import read_facts, shown
from app.shop.queries import the_shop


@bp.route("", methods=["GET", "POST"])
@may(May.SETTINGS, password=True)
def page() -> Response | str:
    """The server, what its last test said, and the templates."""
    found = queries.server()
    form = read_form(ServerForm, **_stands(found))

    def keep(saved: Saved) -> Response:
        if found is not None:
            check_fresh(found, form)
        service.set_server(read_facts(form, ServerFacts), by=actor(), now=clock.now())
        flash("The mail server is saved. Test it now.", "saved")
        return saved("mail.page")

    return save_or_reshow(form, keep) or render_template(
        "contact/mail.html", form=form, server=found, templates=queries.templates(),
        from_environment=password.from_environment(), environment=password.ENVIRONMENT,
        has_password=bool(password.read(current_app.config["DATA"])), has_errors=form.has_errors)


def _stands(found: MailServer | None) -> dict[str, Any]:
    if found is None:
        return {"port": 587, "sender_address": the_shop().email, "sender_name": the_shop().name, "most_megabytes": 20.0}
    return {name: found.most_bytes / MEGABYTE if name == "most_megabytes" else getattr(found, name)
            for name in ServerFacts.__dataclass_fields__}


@bp.route("/password", methods=["GET", "POST"])
@may(May.SETTINGS, password=True)
def set_password() -> Response | str:
    """Keep the password in its file."""
    found, form = _server(), read_form(PasswordForm)

    def keep(saved: Saved) -> Response:
        service.set_password(found, current_app.config["DATA"], form.server_password.data or "", by=actor(), now=clock.now())
        flash("The password is kept." if form.server_password.data else "The password is removed.", "saved")
        return saved("mail.page")

    return save_or_reshow(form, keep) or render_template("contact/password.html", form=form, has_errors=form.has_errors)


@bp.post("/test")
@may(May.SETTINGS)
def test() -> Response:
    """Go as far as a message would, send none, and show what the server said."""
    found = _server()
    tested, way = found.version, sender.way_to(found, current_app.config["DATA"])
    end_reading()  # nothing is read on meanwhile: a server may take its time, and nobody who saves waits for it
    seen = smtp.look(way)
    with saving() as saved:
        if found.version != tested:  # read anew: what was seen is about the settings of before
            raise RuleBroken("The mail server was changed while it was tested. Test it again.")
        service.keep_test(found, seen, by=actor(), now=clock.now())
        flash("The server would accept mail." if seen.passed else "The test failed. What the server said is below.",
              "saved" if seen.passed else "refused")
        return saved("mail.page")


@bp.post("/templates/usual")
@may(May.SETTINGS)
def add_usual() -> Response:
    """Begin with those that come with the program."""
    with saving() as saved:
        service.add_usual_templates(by=actor(), now=clock.now())
        flash("The usual templates are added. Change them to your words.", "saved")
        return saved("mail.page")


@bp.route("/templates/new", methods=["GET", "POST"])
@may(May.SETTINGS)
def new_template() -> Response | str:
    """Add a template."""
    form = read_form(TemplateForm)

    def keep(saved: Saved) -> Response:
        service.add_template(read_facts(form, TemplateFacts), by=actor(), now=clock.now())
        flash("The template is added.", "saved")
        return saved("mail.page")

    return save_or_reshow(form, keep) or render_template("contact/template.html", form=form, template=None, known=KNOWN,
                                                         has_errors=form.has_errors)


@bp.route("/templates/<int:template_id>", methods=["GET", "POST"])
@may(May.SETTINGS)
def template(template_id: int) -> Response | str:
    """Change a template."""
    found = _template(template_id)
    form = read_form(TemplateForm, **shown(found, TemplateFacts))

    def keep(saved: Saved) -> Response:
        check_fresh(found, form)
        service.change_template(found, read_facts(form, TemplateFacts), by=actor(), now=clock.now())
        flash("The template is saved.", "saved")
        return saved("mail.page")

    return save_or_reshow(form, keep) or render_template("contact/template.html", form=form, template=found, known=KNOWN,
                                                         has_errors=form.has_errors)


@bp.post("/templates/<int:template_id>/retire")
@may(May.SETTINGS)
def retire(template_id: int) -> Response:
    """Offer a template no longer."""
    found = _template(template_id)
    with saving() as saved:
        service.retire_template(found, by=actor(), now=clock.now())
        flash("The template is retired.", "saved")
        return saved("mail.page")


def _server() -> MailServer:
    found = queries.server()
    if found is None:
        raise BadInput("Set the mail server first.")
    return found


def _template(template_id: int) -> MailTemplate:
    found = queries.find_template(template_id)
    if found is None:
        raise NotFound("There is no such template.")
    return found
