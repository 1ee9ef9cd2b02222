from __future__ import annotations

from flask import Flask

from app import clock
from app.db import session, transaction
from app.journal.service import Actor
from app.orders.models import Channel
from app.orders.queries import find
from app.orders.stages import Stage
from app.quote import costs, queries
from app.quote.rules.lines import Hours
from app.quote.rules.words import LineGroup
from app.quote.service import issuing as issuing_service
from app.quote.service import lines as lines_service
from tests.findings import make as bench
from tests.pages import PageClient
from tests.quote import make

LINE = {"what": "Replace the supply capacitors", "group": LineGroup.COMPLAINT.value, "hours_likely": "1:30",
        "hours_low": "1", "hours_high": "3", "parts": "three 47u 500 V", "parts_minor": "42", "condition": "new"}


def an_order(app: Flask, **line: object) -> int:
    """One line in draft, and a high risk that a second line is about."""
    with app.app_context(), transaction():
        order = make.order_at()
        finding = bench.finding(order)
        make.line(order, **line)
        make.line(order, group=LineGroup.SAFETY, what="Replace the can", finding_id=finding.id)
        return order.id


def test_a_quote_goes_from_the_first_line_to_the_acknowledged_refusal(app: Flask, technician: PageClient,
                                                                      counter: PageClient) -> None:
    with app.app_context(), transaction():
        order = make.order_at()
        finding = bench.finding(order).id
        number = order.id
    base = f"/orders/{number}/quote"
    assert "Add an item for it" in technician.get(base).words
    page = technician.get(f"{base}/lines/new?finding={finding}")
    assert page.fields()["group"] == LineGroup.SAFETY.value
    technician.post(f"{base}/lines/new", {**LINE, "finding": str(finding), "group": "required for safety"})
    page = technician.post(f"{base}/lines/new", {**LINE, "what": "Clean the controls", "parts": "", "parts_minor": ""})
    assert "By our hour ranges: " in page.words and "Clean the controls" in page.words
    page = technician.post(f"{base}/issue", {"days_to_complete": "10"})
    assert "Revision 1 is issued" in page.words
    with app.app_context():
        order = find(number)
        assert order is not None
        quote = queries.current(order)
        assert quote is not None
        hazard, other = quote.lines
    answer = {f"line_{hazard.id}": "declined", f"line_{other.id}": "agreed", "channel": "phone"}
    page = counter.post(f"{base}/answer", {**answer, "ceiling_minor": "160"})
    assert page.title.startswith("Declined work")
    page = counter.post(f"{base}/declined/{hazard.id}", {"made_safe": "lead removed", "how": "signed on paper"})
    assert "answered by Wren Adler" in page.words and "AUD 156.75 is committed, as the customer was told" in page.words
    assert "agreed: Clean the controls" in page.words
    order_page = technician.get(f"/orders/{number}")
    assert "agreed to 1 of 2 items" in order_page.words
    assert "decline acknowledged" in technician.get(f"/orders/{number}/history").words


def test_refusals_stand_beside_their_fields(app: Flask, technician: PageClient, counter: PageClient) -> None:
    number = an_order(app)
    base = f"/orders/{number}/quote"
    page = technician.post(f"{base}/lines/new", {"hours_likely": "soon"})
    assert page.title.startswith("Error: ")
    for words in ("Enter what would be done.", "Choose why it is needed.", "Enter hours such as 1.5 or 1:30"):
        assert words in page.words
    page = technician.post(f"{base}/lines/new", {**LINE, "hours_low": "2"})
    assert "The least hours are more than the likely ones." in page.words
    page = technician.post(f"{base}/issue", {"days_to_complete": "", "maximum_minor": "1"})
    assert "Enter the days it takes" in page.words
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        make.issue(order, clock.now())
    page = counter.post(f"{base}/answer", {"ceiling_minor": "", "channel": "phone"})
    assert "Enter whether this is agreed or declined: Replace the can." in page.words
    assert "Enter the sum they agreed to." in page.words


def test_two_people_on_one_line_notice_each_other(app: Flask, technician: PageClient, owner: PageClient) -> None:
    number = an_order(app)
    with app.app_context():
        line = queries.lines(number)[-1].id
    path = f"/orders/{number}/quote/lines/{line}/change"
    mine, theirs = technician.get(path).fields(), owner.get(path).fields()
    owner.send(path, {**theirs, "hours_likely": "2"})
    page = technician.send(path, {**mine, "hours_likely": "3"}, status=409)
    assert "This was saved after you opened the page" in page.words and "Likely hours" in page.words
    technician.send(path, page.fields(path))
    with app.app_context():
        assert queries.lines(number)[-1].hours_likely == 3.0


def test_a_form_sent_twice_counts_once(app: Flask, technician: PageClient) -> None:
    number = an_order(app)
    path = f"/orders/{number}/quote/lines/new"
    fields = {**technician.get(path).fields(), **LINE}
    technician.send(path, fields)
    assert "This was saved already." in technician.send(path, fields).words
    with app.app_context():
        assert len(queries.lines(number)) == 3


def test_an_answer_to_a_stale_revision_is_refused(app: Flask, counter: PageClient) -> None:
    number = an_order(app)
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        make.issue(order, clock.now())
    path = f"/orders/{number}/quote/answer"
    stale = counter.get(path).fields()
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        make.line(order, what="Clean the controls")
        lines = make.issue(order, clock.now()).lines
        decisions = {f"line_{line.id}": "agreed" for line in lines}
    page = counter.send(path, {**stale, **decisions, "channel": Channel.PHONE.value})
    assert "Revision 2 was issued" in page.words and "read it out again" in page.words


def test_a_tick_on_a_page_that_went_stale_consents_to_nothing_and_is_kept(app: Flask, counter: PageClient) -> None:
    number = an_order(app, hours=Hours.one(2.0), parts="", parts_minor=0)  # 190.00, and the can
    path = f"/orders/{number}/quote/answer"
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        make.issue(order, clock.now())
        line = queries.lines(number)[-1]
        assert line.what == "Replace the supply capacitors"
        line_id = line.id
    stale = counter.get(path).fields()
    assert stale["quote"] and stale["total"]
    ticked = {name: "agreed" for name in stale if name.startswith("line_")}
    ticked |= {name: "agreed" for name in {e.get("name", "") for e in counter.get(path).all("input")} if name.startswith("line_")}
    with app.app_context(), transaction():
        order, line = find(number), queries.find_line(line_id)
        assert order is not None and line is not None
        lines_service.change(order, line, make.draft(hours=Hours.one(3.0), parts="", parts_minor=0), by=Actor(None, "Anselm", ""),
                             now=clock.now())
        session().flush()
        issuing_service.issue(order, make.terms(), by=Actor(None, "Anselm", ""), now=clock.now())
        kept = {one.line.line_id if hasattr(one, "line") else one.line_id: one.id for one in queries.current(order).lines}  # type: ignore[union-attr]
    page = counter.send(path, {**stale, **ticked, "channel": "phone", "reached_at": "555 0123", "conditions": "by Friday",
                               "ceiling_minor": "999"})
    told = page.words
    assert "Revision 2 was issued at " in told and " by Anselm" in told
    assert "This line was AUD 190.00, now AUD 285.00" in told and "read it out again" in told and "You had ticked: agreed." in told
    fields = page.fields()
    assert (fields["reached_at"], fields["conditions"], fields["ceiling_minor"]) == ("555 0123", "by Friday", "999")
    unchanged = next(value for key, value in kept.items() if key != max(kept))
    assert fields[f"line_{unchanged}"] == "agreed"  # what has not changed stays ticked, what has is asked again
    assert f"line_{kept[max(kept)]}" not in fields
    with app.app_context():
        order = find(number)
        assert order is not None and queries.authorisation(order) is None
    page = counter.send(path, {**fields, f"line_{kept[max(kept)]}": "agreed"})
    assert "answered by Wren Adler" in page.words


def test_a_limit_for_all_of_it_is_asked_back_where_some_was_declined(app: Flask, counter: PageClient) -> None:
    """The page holds the sum of the whole quote; nobody agreed to that who declined a part of it."""
    number = an_order(app, hours=Hours.one(2.0), parts="", parts_minor=0)
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        make.line(order, what="Clean the controls", hours=Hours.one(1.0), parts="", parts_minor=0)
        quote = make.issue(order, clock.now())
        whole, names = quote.at_most_minor, {line.what: f"line_{line.id}" for line in quote.lines}
    path = f"/orders/{number}/quote/answer"
    ticked = {name: "declined" if what == "Clean the controls" else "agreed" for what, name in names.items()}
    fields = {**counter.get(path).fields(), **ticked, "channel": "phone", "reached_at": "555 0123"}
    page = counter.send(path, fields)
    assert "“Clean the controls” is declined: what is agreed comes to AUD" in page.words
    with app.app_context():
        order = find(number)
        assert order is not None and queries.authorisation(order) is None
    assert "answered by Wren Adler" in counter.send(path, page.fields()).words
    with app.app_context():
        order = find(number)
        assert order is not None
        answer = queries.authorisation(order)
        assert answer is not None
        spent = costs.standing(order)
        assert spent.ceiling_minor == spent.expected_minor < whole  # of what was agreed, tax and diagnosis with it


def test_a_limit_for_all_of_it_stands_where_they_agreed_to_just_that(app: Flask, counter: PageClient) -> None:
    number = an_order(app)
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        make.line(order, what="Clean the controls")
        quote = make.issue(order, clock.now())
        whole, names = quote.at_most_minor, {line.what: f"line_{line.id}" for line in quote.lines}
    path = f"/orders/{number}/quote/answer"
    ticked = {name: "declined" if what == "Clean the controls" else "agreed" for what, name in names.items()}
    fields = {**counter.get(path).fields(), **ticked, "channel": "phone", "reached_at": "555 0123"}
    asked_back = counter.send(path, fields).fields()
    assert "answered by Wren Adler" in counter.send(path, {**asked_back, "ceiling_minor": fields["ceiling_minor"]}).words
    with app.app_context():
        order = find(number)
        assert order is not None and costs.standing(order).ceiling_minor == whole


def test_an_answer_that_does_not_say_what_it_was_read_from_is_refused(app: Flask, counter: PageClient) -> None:
    number = an_order(app)
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        lines = [line.id for line in make.issue(order, clock.now()).lines]
    path = f"/orders/{number}/quote/answer"
    fields = {**counter.get(path).fields(), **{f"line_{one}": "agreed" for one in lines}, "channel": "phone"}
    for wrong in ({"quote": ""}, {"total": "1"}, {"quote": "seven"}):
        assert "read it out again" in counter.send(path, {**fields, **wrong}).words
    with app.app_context():
        order = find(number)
        assert order is not None and queries.authorisation(order) is None


def test_the_counter_answers_and_the_bench_does_not(app: Flask, technician: PageClient, counter: PageClient) -> None:
    number = an_order(app)
    technician.get(f"/orders/{number}/quote/answer", status=403)
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        make.issue(order, clock.now())
    assert "Record the answer" not in technician.get(f"/orders/{number}/quote").words
    assert "Record the answer" in counter.get(f"/orders/{number}/quote").words


def test_a_revision_is_read_as_it_was_issued(app: Flask, technician: PageClient) -> None:
    number = an_order(app, hours=Hours(1, 2, 4))
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        order.stage = Stage.QUOTE
        quote = make.issue(order).id
        make.authorise(order, [queries.lines(number)[0].id], conditions="ring before four")
    page = technician.get(f"/orders/{number}/quote/revisions/{quote}")
    for words in ("Revision 1 of the quote", "Valid until 1 Apr 2026", "Finding 1, HT supply", "given back to the customer",
                  "Declined Replace the can", "ring before four", "Cost limit AUD"):
        assert words in page.words
    technician.get(f"/orders/{number + 1}/quote/revisions/{quote}", status=404)


def test_a_line_is_withdrawn_with_a_reason(app: Flask, technician: PageClient) -> None:
    number = an_order(app)
    with app.app_context():
        line = queries.lines(number)[-1].id
    path = f"/orders/{number}/quote/lines/{line}/withdraw"
    assert "Enter why the line is withdrawn." in technician.post(path, {"reason": " "}).words
    page = technician.post(path, {"reason": "works after cleaning"})
    assert "works after cleaning" in page.words


def test_a_declined_hazard_stands_on_top_of_every_page_of_the_order(app: Flask, counter: PageClient) -> None:
    number = an_order(app)
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        make.issue(order, clock.now())
        hazard = next(line for line in queries.lines(number) if line.group is LineGroup.SAFETY)
        make.authorise(order, [hazard.id], now=clock.now())
    pages = (f"/orders/{number}", f"/orders/{number}/quote", f"/orders/{number}/parts", f"/orders/{number}/findings")
    for page in pages:
        told = counter.get(page).words
        assert "Safety work declined. Replace the can (Finding 1," in told and "not acknowledged yet" in told
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        make.acknowledge(order, queries.to_acknowledge(order)[0])
    assert "Wren Adler, signed on the screen" in counter.get(pages[0]).words
    with app.app_context(), transaction():
        order = find(number)
        assert order is not None
        make.authorise(order, now=clock.now())
    assert "Safety work declined" not in counter.get(pages[0]).words
