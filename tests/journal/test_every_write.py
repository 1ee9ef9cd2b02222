"""Every service function that writes has its journal entry: the functions are found, not listed, and each is watched at work.

The filled shop (`tests/whole_shop.py`) calls all of them. A new function is missed here until something calls it, and named here
if it wrote without an entry; a new kind of event until something enters it.
"""

from __future__ import annotations

import inspect

import sqlalchemy as sa

from app.db import session
from app.journal import service as journal
from app.journal.events import Event
from app.journal.models import JournalEntry
from tests.tracing import services
from tests.whole_shop import WholeShop, opened

# What no life of a shop calls, and why. A name that is called after all, or is gone, fails.
NOT_CALLED = {
    "access.clock_jumps.look": "with every request of a server; what it finds, note enters",
    "access.clock_jumps.watch": "called once by the server",
    "parts.places.offered": "words for a page",
    "photos.pins.register": "called by a room while it is imported",
    "photos.pins.kinds": "asked by a page",
    "photos.pins.on_photo": "asked by a page",
    "photos.pins.of_record": "asked by a page",
    "photos.pins.url_of": "asked by a page",
    "safety.service.profiles.all_shipped": "asked by a page",
    "safety.service.profiles.changed_since": "words for a page",
    "shop.service.sums_are_kept": "asked by the settings page",
    "search.service.differences": "asked by verify",
    "search.service.know": "called once while the application is made",
    "search.service.known": "asked by a page",
}
# What writes and enters nothing of its own, and why.
WITHOUT_ENTRY = {
    "access.service.end_all": "part of a new password and of a change of role, which are entered",
    "access.service.make_enrol_code": "an offer; the device that takes it up is entered, with whose code it was",
    "access.service.count_pin": "one that fits ends the count of those that did not; each that does not fit is entered",
    "kept.service.end_use": "part of looking at a rating again, which is entered",
    "contact.service.outbox.begin": "part of a try, whose end is entered",
    "contact.service.outbox.claim": "part of a try, whose end is entered",
    "hours.service.kinds.ensure_kinds": "what is shipped with the program, before the shop has said anything",
    "hours.service.kinds.kind_named": "it stores the shipped list the first time",
    "hours.service.tasks.claim": "part of the start of a timer, which is entered",
    "hours.service.tasks.weigh": "part of the finish of a task and of a correction, which are entered",
    "findings.service.bake_holds.name_anew": "keys for words; the act that made the name is entered",
    "findings.service.bake_holds.name_its_board": "keys for words; the act that made the name is entered",
    "findings.service.bake_holds.name_what_waits": "keys for words; the act that made the name is entered",
    "measuring.service.points.ensure_usual_points": "what is shipped with the program, before the shop has said anything",
    "reassembly.service.steps.see_plan": "which plan the page showed; the step that was done by it is entered",
    "photos.removal.list_file": "part of an erasure and of a cleaned photo, which are entered; so is the removal that follows",
    "removals.service.record.tie_what_waits": "keys for words; the act that made the name is entered",
}


def test_every_function_of_a_service_is_called(whole_shop: WholeShop) -> None:
    found = set(services())
    assert len(found) > 150
    assert sorted(found - whole_shop.trace.driven - NOT_CALLED.keys()) == [], "call it in tests/corrections.py"
    assert sorted(NOT_CALLED.keys() - found) + sorted(NOT_CALLED.keys() & whole_shop.trace.driven) == [], "no longer so"


def test_whatever_writes_enters_it_in_the_journal(whole_shop: WholeShop) -> None:
    silent = {call.name for call in whole_shop.trace.calls if call.tables and not call.events}
    assert sorted(silent - WITHOUT_ENTRY.keys()) == []
    assert sorted(WITHOUT_ENTRY.keys() - silent) == [], "no longer so"


def test_who_is_told_who_does_it_writes(whole_shop: WholeShop) -> None:
    """A function that takes `by` is there to write: one that was called and never wrote was not tried."""
    wrote = {call.name for call in whole_shop.trace.calls if call.tables}
    told = {name for name, function in services().items() if "by" in inspect.signature(function).parameters}
    assert len(told) > 100 and sorted(told & whole_shop.trace.driven - wrote) == []


def test_every_kind_of_event_is_entered_by_a_service_that_wrote(whole_shop: WholeShop) -> None:
    entered = {event for call in whole_shop.trace.calls if call.tables for event in call.events}
    entered |= {Event.RECORDS_SEALED}  # at the end of every transaction, by nobody's call
    assert sorted({event.value for event in Event} ^ entered) == []
    with opened(whole_shop.data) as app, app.app_context():
        there = set(session().scalars(sa.select(JournalEntry.event).distinct()))
        assert there == entered and journal.verify() == []
