"""Writing a message, the outbox, and one message."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.contact import facts, queries, sender
from app.contact.forms import MessageForm, StrikeForm
from app.contact.models import MailMessage, MailRecipient
from app.contact.service import outbox as service
from app.contact.views.common import about, bp
from app.documents import queries as documents
from app.errors import NotFound
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, save_or_reshow, saving


@bp.get("/outbox")
@may(May.SEE)
def outbox() -> str:
    """What waits, what was accepted, what was refused."""
    return render_template("contact/outbox.html", rows=queries.outbox(), server=queries.server())


@bp.route("/messages/new", methods=["GET", "POST"])
@may(May.CHECK_IN)
def write() -> Response | str:
    """Write a message, from a template if one is named."""
    who, order = about(May.CHECK_IN)
    template = queries.find_template(request.args.get("template", 0, type=int))
    worded = {name: facts.worded(getattr(template, name), who, order) for name in ("subject", "body")} if template else {}
    form = read_form(MessageForm, to=who.email, **worded)
    papers = documents.of_order(order.id) if order else ()
    form.offer(papers)

    def keep(saved: Saved) -> Response:
        made = service.queue(who, order, form.draft(papers), by=actor(), now=clock.now())
        flash("The message is in the outbox. It is sent once the mail server accepts it.", "saved")
        return saved("contact.message", message_id=made.id)

    done = save_or_reshow(form, keep)
    if done is not None:
        sender.wake()
        return done
    return render_template("contact/write.html", form=form, who=who, order=order, templates=queries.templates(), template=template,
                           server=queries.server(), has_errors=form.has_errors)


@bp.get("/messages/<int:message_id>")
@may(May.SEE)
def message(message_id: int) -> str:
    """One message, and how far it is for each recipient."""
    return render_template("contact/message.html", message=_load(message_id), server=queries.server())


@bp.post("/recipients/<int:recipient_id>/again")
@may(May.CHECK_IN)
def again(recipient_id: int) -> Response:
    """Try one now."""
    found = _load_recipient(recipient_id)
    with saving() as saved:
        service.again(found, by=actor(), now=clock.now())
        flash("The message is tried again.", "saved")
        done = saved("contact.message", message_id=found.mail_message_id)
    sender.wake()
    return done


@bp.route("/recipients/<int:recipient_id>/withdraw", methods=["GET", "POST"])
@may(May.CHECK_IN)
def withdraw(recipient_id: int) -> Response | str:
    """Send one no longer."""
    found, form = _load_recipient(recipient_id), read_form(StrikeForm)

    def keep(saved: Saved) -> Response:
        service.withdraw(found, form.reason.data or "", by=actor(), now=clock.now())
        flash("The message is withdrawn.", "saved")
        return saved("contact.message", message_id=found.mail_message_id)

    return save_or_reshow(form, keep) or render_template("contact/withdraw.html", form=form, recipient=found,
                                                         message=found.message, has_errors=form.has_errors)


def _load(message_id: int) -> MailMessage:
    found = queries.find_message(message_id)
    if found is None:
        raise NotFound("There is no such message.")
    return found


def _load_recipient(recipient_id: int) -> MailRecipient:
    found = queries.find_recipient(recipient_id)
    if found is None:
        raise NotFound("There is no such message.")
    return found
