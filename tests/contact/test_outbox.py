"""The outbox against a real SMTP server: never "accepted" before the server said so, never lost, twice only where it is said."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import ExitStack
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from flask import Flask

from app.contact import password, queries, sender, smtp
from app.contact.models import MailMessage, MailRecipient
from app.contact.rules import CLAIM, GIVEN_UP, How, MailState, Security, next_try
from app.contact.service import outbox, settings
from app.contact.spec import ServerFacts
from app.db import session, transaction
from app.documents.models import IssuedDocument
from app.documents.rules import Kind
from app.errors import BadInput, RuleBroken
from app.journal import service as journal
from app.photos.store import the_store
from tests import factories
from tests.contact.mail import PASSWORD, USER, Post, authority, listening
from tests.factories import NOW
from tests.people import BY

TO = "wren@adler.example"
PDF = b"%PDF-1.7\n" + bytes(range(256)) * 40


@pytest.fixture
def engine_name() -> str:
    """What is said to a mail server is the same on either engine; test_settings and test_log run on both."""
    return "sqlite"


@pytest.fixture
def post() -> Post:
    return Post()


@pytest.fixture
def files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, Path]:
    made = authority(tmp_path)
    monkeypatch.setenv("SSL_CERT_FILE", str(made[0]))  # what OpenSSL trusts
    monkeypatch.delenv(password.ENVIRONMENT, raising=False)
    return made


@pytest.fixture
def served(context: Flask, post: Post, files: tuple[Path, Path]) -> Iterator[Post]:
    """The shop's server is set, with its password, and answers."""
    with listening(post, files) as port:
        set_server(context, port)
        yield post


def set_server(app: Flask, port: int, security: Security = Security.STARTTLS, secret: str = PASSWORD, **given: object) -> None:
    usual = {"user_name": USER, "sender_name": "Lowgate Valve Repairs", **given}
    with transaction():
        server = settings.set_server(
            ServerFacts("localhost", port, security, "bench@lowgate.example", **usual),
            by=BY,  # type: ignore[arg-type]
            now=NOW,
        )
        session().flush()
        settings.set_password(server, app.config["DATA"], secret, by=BY, now=NOW)


def queued(
    *to: str, papers: int = 0, subject: str = "Repair 1001: ready", body: str = "Hello Wren,\nit is ready.", size: int = 0
) -> int:
    with transaction():
        order = factories.order()
        made = outbox.queue(
            order.depositor,
            order,
            outbox.Draft(to or (TO,), subject, body, tuple(paper(order.id, one, size) for one in range(papers))),
            by=BY,
            now=NOW,
        )
        session().flush()
        return made.id


def paper(order_id: int, revision: int, size: int = 0) -> IssuedDocument:
    data = PDF + bytes(size)
    sha = the_store().put(data)
    made = IssuedDocument(
        order_id=order_id,
        kind=tuple(Kind)[revision],
        revision=1,
        sha256=sha,
        page_sha256=sha,
        facts_sha256=sha,
        media_type="application/pdf",
        size=len(data),
        journal_hash=sha,
        issued_at=NOW,
        issued_by="Mara",
    )
    session().add(made)
    session().flush()
    return made


def work(at: datetime = NOW) -> int:
    return sender.work_off(lambda: at)


def stands(message_id: int) -> list[MailRecipient]:
    session().expire_all()
    found = session().get(MailMessage, message_id)
    assert found is not None
    return list(found.recipients)


def test_a_message_is_accepted_when_the_server_said_so_and_not_before(served: Post) -> None:
    key = queued()
    (before,) = stands(key)
    assert before.state is MailState.WAITING and before.answer == "" and queries.of_customer(before.message.customer_id) == []
    assert work() == 1 and work() == 0
    (one,) = stands(key)
    assert (one.state, one.answer, one.answers_lost) == (MailState.ACCEPTED, "250 2.0.0 Ok: queued as 4F2A", 0)
    (entry,) = queries.of_customer(one.message.customer_id)
    assert (entry.how, entry.reached_at, entry.said) == (How.EMAIL, TO, "Repair 1001: ready")
    (letter,) = served.letters()
    assert letter["To"] == f"Wren Adler <{TO}>" and letter["From"] == "Lowgate Valve Repairs <bench@lowgate.example>"
    assert letter["Message-ID"] == f"<{one.message.message_id}>" and served.texts() == ["Hello Wren,\nit is ready.\n"]
    assert served.signed_in == [USER.encode()] and journal.verify() == []


def test_papers_arrive_byte_for_byte(served: Post) -> None:
    queued(papers=2)
    work()
    (letter,) = served.letters()
    assert [(one.get_content(), one.get_content_type()) for one in letter.iter_attachments()] == [(PDF, "application/pdf")] * 2
    assert all(max(map(len, data.split(b"\r\n"))) <= 998 and data.isascii() for _, data in served.got)  # RFC 5322, 2.1.1


@pytest.mark.parametrize("body", [".\n..\n.hidden\nend", "ends with a point.\n.", "Grüße, 音, £\n" + "long " * 400, "\u2028 odd"])
def test_text_arrives_as_it_was_written(served: Post, body: str) -> None:
    """RFC 5321, 4.5.2: a line that begins with a dot keeps it."""
    queued(body=body)
    work()
    assert served.texts() == [body.strip() + "\n"]


def test_each_recipient_has_an_answer_of_their_own(served: Post) -> None:
    served.to_recipient = {"no@adler.example": "550 5.1.1 No such user", "later@adler.example": "451 4.3.0 Try later"}
    key = queued(TO, "no@adler.example", "later@adler.example")
    assert work() == 3
    first, no, later = stands(key)
    assert (first.state, no.state, later.state) == (MailState.ACCEPTED, MailState.REFUSED, MailState.WAITING)
    assert no.answer == "550 5.1.1 No such user" and later.answer == "451 4.3.0 Try later"
    assert later.next_at == NOW + timedelta(minutes=5) and [to for to, _ in served.got] == [TO]
    assert all("adler.example" in data["To"] and len(data["To"].addresses) == 1 for data in served.letters())


def test_the_tries_lie_as_far_apart_as_the_standard_asks() -> None:
    """RFC 5321, 4.5.4.1: at least 30 minutes apart, but for the first tries, and for four to five days."""
    at, gaps = NOW, []
    while (after := next_try(len(gaps) + 1, NOW, at)) is not None:
        gaps.append(after - at)
        at = after
    assert timedelta(days=4) <= at - NOW <= timedelta(days=5) and min(gaps[2:]) >= timedelta(minutes=30)


def test_a_message_that_was_tried_for_four_days_is_said_to_be_given_up(served: Post) -> None:
    served.to_text = "452 4.2.2 Mailbox full"
    key = queued()
    work()
    assert stands(key)[0].state is MailState.WAITING
    work(NOW + GIVEN_UP)
    (one,) = stands(key)
    assert (
        one.state is MailState.REFUSED
        and one.answer.startswith("Given up after 2 tries")
        and "452 4.2.2 Mailbox full" in one.answer
    )
    assert served.got == []


def test_a_lost_answer_is_said_and_the_second_copy_has_the_same_id(served: Post) -> None:
    served.cut_after = 1
    key = queued()
    work()
    (one,) = stands(key)
    assert one.state is MailState.WAITING and one.answers_lost == 1 and "may have arrived" in one.answer
    assert queries.of_customer(one.message.customer_id) == []
    work(NOW + timedelta(minutes=5))
    (one,) = stands(key)
    assert one.state is MailState.ACCEPTED and one.answers_lost == 1
    assert len({letter["Message-ID"] for letter in served.letters()}) == 1 and len(served.got) == 2


def test_a_kill_before_the_text_went_out_loses_nothing_and_sends_it_once(served: Post) -> None:
    key = queued()
    with transaction():
        assert outbox.claim(stands(key)[0].id, NOW) is not None
    assert work() == 0  # somebody works on it
    assert work(NOW + CLAIM) == 1
    (one,) = stands(key)
    assert (one.state, one.answers_lost, one.tries) == (MailState.ACCEPTED, 0, 2) and len(served.got) == 1


def test_a_kill_while_the_text_went_out_is_counted_as_a_lost_answer(served: Post) -> None:
    key = queued()
    with transaction():
        (one,) = stands(key)
        outbox.claim(one.id, NOW)
        outbox.begin(one.id, NOW)
    work(NOW + CLAIM)
    (one,) = stands(key)
    assert (one.state, one.answers_lost) == (MailState.ACCEPTED, 1)


def test_a_try_that_lost_its_claim_sends_nothing(
    served: Post, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    key = queued()
    real = smtp.hand_over

    def slow(way: smtp.Way, envelope: smtp.Envelope, begin: object) -> smtp.Outcome:
        with transaction():
            stands(key)[0].state = MailState.HANDING_OVER  # a later try took it over meanwhile
        return real(way, envelope, begin)  # type: ignore[arg-type]

    monkeypatch.setattr(smtp, "hand_over", slow)
    with caplog.at_level(logging.WARNING):
        work()
    assert served.got == [] and "another has it" in caplog.text


def test_nothing_goes_to_a_server_whose_certificate_is_not_accepted(
    context: Flask, post: Post, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "other").mkdir()
    monkeypatch.setenv("SSL_CERT_FILE", str(authority(tmp_path / "other")[0]))
    with listening(post, authority(tmp_path)) as port:
        set_server(context, port)
        key = queued()
        work()
    (one,) = stands(key)
    assert one.state is MailState.WAITING and "certificate of localhost" in one.answer
    assert post.tried == [] and post.signed_in == []


def test_nothing_goes_to_a_server_of_another_name(
    context: Flask, post: Post, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = authority(tmp_path, "mail.elsewhere.example")
    monkeypatch.setenv("SSL_CERT_FILE", str(made[0]))
    with listening(post, made) as port:
        set_server(context, port)
        key = queued()
        work()
    assert "certificate" in stands(key)[0].answer and post.signed_in == []


def test_nothing_goes_without_encryption(context: Flask, post: Post) -> None:
    with listening(post, None) as port:
        set_server(context, port)
        key = queued()
        work()
    assert "offers no encryption" in stands(key)[0].answer and post.tried == [] and post.signed_in == []


def test_tls_from_the_start(context: Flask, post: Post, files: tuple[Path, Path]) -> None:
    with listening(post, files, from_the_start=True) as port:
        set_server(context, port, Security.TLS)
        key = queued()
        work()
    assert stands(key)[0].state is MailState.ACCEPTED and len(post.got) == 1


def test_a_wrong_password_is_said_in_the_server_s_words_and_stops_the_pass(
    context: Flask, post: Post, files: tuple[Path, Path]
) -> None:
    with listening(post, files) as port:
        set_server(context, port, secret="another one")
        first, second = queued(), queued("odd@adler.example", subject="Another")
        assert work() == 1  # the next message would fare no better
        (one,) = stands(first)
        assert (
            one.state is MailState.WAITING
            and "535" in one.answer
            and PASSWORD not in one.answer
            and "another one" not in one.answer
        )
        assert stands(second)[0].tries == 0
        seen = smtp.look(smtp.Way("localhost", port, Security.STARTTLS, USER, "another one"))
        assert not seen.passed and "535" in seen.words


def test_a_server_that_is_not_there_keeps_the_message(context: Flask, files: tuple[Path, Path]) -> None:
    with listening(Post(), files) as port:
        pass
    set_server(context, port)
    key = queued()
    assert work() == 1
    (one,) = stands(key)
    assert one.state is MailState.WAITING and "could not be talked to" in one.answer


def test_no_server_sends_nothing(context: Flask) -> None:
    key = queued()
    assert work() == 0 and stands(key)[0].state is MailState.WAITING and stands(key)[0].tries == 0


def test_too_large_is_said_before_it_is_queued_and_by_the_server_s_size(
    context: Flask, post: Post, files: tuple[Path, Path]
) -> None:
    """RFC 1870: the SIZE of EHLO; nothing of the message is handed over."""
    with listening(post, files, most=40_000) as port:
        set_server(context, port, most_megabytes=0.1)
        with pytest.raises(BadInput, match="at most 0.1 MB") as refused:
            queued(papers=1, size=100_000)
        assert refused.value.field == "papers"
        key = queued(papers=1, size=30_000)  # within the shop's limit, the server's is not known yet
        work()
        (one,) = stands(key)
        assert one.state is MailState.REFUSED and "(SIZE)" in one.answer and post.tried == []
        with transaction():
            settings.keep_test(found_server(), smtp.look(sender.way_to(found_server(), context.config["DATA"])), by=BY, now=NOW)
        assert found_server().server_most_bytes == 40_000
        with pytest.raises(BadInput, match="at most 40 kB"):
            queued(papers=1, size=30_000, subject="again")


def found_server():  # type: ignore[no-untyped-def]
    return queries.server()


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"subject": "Ready\r\nBcc: everybody@adler.example"}, "subject"),
        ({"subject": "Ready\nX: y"}, "subject"),
        ({"subject": "Ready\u2028X"}, "subject"),
        ({"to": ("wren@adler.example\r\nBcc: x@y.example",)}, "to"),
        ({"to": ("wren@adler.example>\r\nRCPT TO:<x@y.example",)}, "to"),
        ({"to": ("wren",)}, "to"),
        ({"to": ("wrén@adler.example",)}, "to"),
        ({"to": (TO, TO)}, "to"),
        ({"to": ()}, "to"),
        ({"body": "until {quote valid until}"}, "body"),
        ({"subject": " "}, "subject"),
    ],
)
def test_no_header_is_smuggled_in(context: Flask, given: dict[str, object], field: str) -> None:
    with transaction():
        order = factories.order()
        draft = outbox.Draft(**{"to": (TO,), "subject": "Ready", "body": "x", **given})  # type: ignore[arg-type]
        with pytest.raises(BadInput) as refused:
            outbox.queue(order.depositor, order, draft, by=BY, now=NOW)
        assert refused.value.field == field


def test_a_name_with_a_line_end_ends_no_header(served: Post) -> None:
    with transaction():
        who = factories.customer('Wren\r\nBcc: x@y.example, "Adler"')
        order = factories.order(customer=who)
        outbox.queue(who, order, outbox.Draft((TO,), "Ready", "x"), by=BY, now=NOW)
    work()
    (letter,) = served.letters()
    assert letter["Bcc"] is None and served.tried == [TO] and len(letter["To"].addresses) == 1


def test_a_withdrawn_message_stays_and_a_refused_one_can_be_tried_again(served: Post) -> None:
    served.to_recipient = {TO: "550 No"}
    key = queued()
    work()
    served.to_recipient = {}
    with transaction():
        outbox.again(stands(key)[0], by=BY, now=NOW)
    work()
    assert stands(key)[0].state is MailState.ACCEPTED
    with transaction(), pytest.raises(RuleBroken, match="accepted by the server"):
        outbox.withdraw(stands(key)[0], "wrong", by=BY, now=NOW)
    other = queued(subject="Another")
    with transaction():
        outbox.withdraw(stands(other)[0], "it was wrong", by=BY, now=NOW)
    assert work() == 0 and len(served.got) == 1


def test_no_message_goes_to_somebody_who_was_erased(served: Post) -> None:
    key = queued()
    with transaction():
        stands(key)[0].message.customer.erased_at = NOW
    work()
    assert stands(key)[0].state is MailState.WITHDRAWN and served.got == []


def test_a_thread_sends_when_it_is_woken_and_ends_when_it_is_told(app: Flask, post: Post, files: tuple[Path, Path]) -> None:
    with listening(post, files) as port, ExitStack() as stack:
        with app.app_context():
            set_server(app, port)
        running = sender.start(app)
        stack.callback(running.join, 20)
        stack.callback(running.end)
        with app.app_context():
            queued()
            sender.wake()
        assert post.arrived.wait(20)
