"""The shop's mail server, its password, and the templates."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import sqlalchemy as sa

from app.contact import password, queries
from app.contact.facts import KNOWN
from app.contact.models import MailServer, MailTemplate
from app.contact.rules import MEGABYTE, broken, unknown_places
from app.contact.smtp import Seen
from app.contact.spec import ServerFacts, TemplateFacts
from app.contact.usual import USUAL
from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record, record_change
from app.kernel.spec import columns, journal_facts, tidied


def set_server(facts: ServerFacts, *, by: Actor, now: datetime) -> MailServer:
    """Where mail goes out from now on. What an earlier test saw is about the server of before, and goes with it."""
    known, server = facts.checked(), queries.server()
    fields = columns(known)
    fields["most_bytes"] = round(fields.pop("most_megabytes") * MEGABYTE)
    before = _told(server) if server else {}
    if server is None:
        server = MailServer(id=1, **fields)
        session().add(server)
    else:
        for name, value in fields.items():
            setattr(server, name, value)
        server.tested_at, server.test_passed, server.test_words, server.server_most_bytes = None, False, "", None
    session().flush()
    record_change(Event.MAIL_SERVER_SET, server, before, journal_facts(known, ServerFacts), by=by, now=now)
    return server


def _told(server: MailServer) -> dict[str, object]:
    stood = ServerFacts(server.host, server.port, server.security, server.sender_address, server.user_name, server.sender_name,
                        server.most_bytes / MEGABYTE)
    return journal_facts(stood, ServerFacts)


def keep_test(server: MailServer, seen: Seen, *, by: Actor, now: datetime) -> None:
    """What a test of the server saw, in its own words."""
    server.tested_at, server.test_passed, server.test_words = now, seen.passed, seen.words
    server.server_most_bytes = seen.most_bytes
    record(Event.MAIL_SERVER_TESTED, server, by=by, now=now, after={"passed": seen.passed, "the server said": seen.words,
                                                                    "largest message": seen.most_bytes})


def set_password(server: MailServer, data: Path, secret: str, *, by: Actor, now: datetime) -> None:
    """Keep the password in its file; only that it was set is told to anybody. Empty takes it away."""
    if broken(secret):
        raise BadInput("A character that cannot be seen stands in it. Type it again.", "server_password")
    server.tested_at, server.test_passed, server.test_words = None, False, ""
    record(Event.MAIL_PASSWORD_SET, server, by=by, now=now, after={"password": "set" if secret else "removed"})
    password.write(data, secret)


def add_template(facts: TemplateFacts, *, by: Actor, now: datetime) -> MailTemplate:
    """A new template. BadInput for a name that is taken or a fact that there is not."""
    known = _checked(facts)
    made = MailTemplate(**columns(known))
    session().add(made)
    record(Event.MAIL_TEMPLATE_ADDED, made, by=by, now=now, after=journal_facts(known, TemplateFacts))
    return made


def add_usual_templates(*, by: Actor, now: datetime) -> int:
    """Those that come with the program and whose name is not taken; how many."""
    taken = set(session().scalars(sa.select(MailTemplate.name)))
    fresh = [one for one in USUAL if one.name not in taken]
    for one in fresh:
        add_template(one, by=by, now=now)
    return len(fresh)


def change_template(template: MailTemplate, facts: TemplateFacts, *, by: Actor, now: datetime) -> None:
    """Write it otherwise. Messages that were written from it stay as they are."""
    known, before = _checked(facts, template), journal_facts(template, TemplateFacts)
    for name, value in columns(known).items():
        setattr(template, name, value)
    record_change(Event.MAIL_TEMPLATE_CHANGED, template, before, journal_facts(known, TemplateFacts), by=by, now=now)


def retire_template(template: MailTemplate, *, by: Actor, now: datetime) -> None:
    """Offer it no longer."""
    if template.retired_at is not None:
        raise RuleBroken("This template is retired already.")
    template.retired_at = now
    record(Event.MAIL_TEMPLATE_RETIRED, template, by=by, now=now, before={"name": template.name})


def _checked(facts: TemplateFacts, own: MailTemplate | None = None) -> TemplateFacts:
    known = tidied(facts)
    for field, text in (("subject", known.subject), ("body", known.body)):
        if strange := unknown_places(text, KNOWN):
            raise BadInput(f"There is no fact {{{strange[0]}}}. Use one of the list below.", field)
    same = session().scalar(sa.select(MailTemplate.id).where(MailTemplate.name == known.name))
    if same is not None and (own is None or own.id != same):
        raise BadInput("A template has this name already.", "name")
    return known
