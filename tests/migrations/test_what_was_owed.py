"""What was settled before bills had numbers: all that was paid is found again, and the rest stands on the list of what is owed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app import migrate
from app.money import queries
from app.money.rules import EntryKind
from tests.conftest import configure, working_on
from tests.migrations.old_shop import THEN, OldShop

FIRST = "keep_bills_taxes_and_what_was_declined"  # the migration before which the shop stands


@pytest.fixture
def old(empty: sa.Engine) -> Iterator[sa.Engine]:
    """A database at the schema before."""
    (path,) = (migrate.MIGRATIONS / "versions").glob(f"*_{FIRST}.py")
    migrate.upgrade(empty, to=str(migrate._revisions()[path.name.partition("_")[0]]))
    yield empty


def test_what_was_paid_is_found_again_and_the_rest_is_owed(bare_app: Flask, tmp_path: Path, old: sa.Engine) -> None:
    with old.begin() as connection:
        shop = OldShop(connection)
        shop.put("shop", id=1, name="Lowgate Valve Repairs")
        part, whole, here, nothing = (shop.order(number) for number in (1001, 1002, 1003, 1004))
        for order in (part, whole, nothing):
            connection.execute(sa.text("UPDATE repair_order SET ended_as = 'repaired', ended_at = :at WHERE id = :id"),
                               {"at": THEN.replace(tzinfo=None), "id": order})
        for order, due, paid, how, why in ((part, 10_000, 4000, "cash", "the rest on Friday"), (whole, 8500, 8500, "card", ""),
                                           (here, 9000, 1000, "card", "later"), (nothing, 0, 0, "nothing was paid", "")):
            shop.put("settlement", order_id=order, due_minor=due, paid_minor=paid, method=how, on_account=why, at=THEN,
                     by_name="Mara", version=1)
    migrate.upgrade(old)
    with working_on(bare_app, configure(tmp_path, old.url.render_as_string(hide_password=False))), bare_app.app_context():
        assert [(one.order.id, one.minor) for one in queries.owed(date(2100, 1, 1))] == [(part, 6000)]
        assert {order: queries.account(order).balance.received_minor for order in (part, whole, here, nothing)} == {
            part: 4000, whole: 8500, here: 1000, nothing: 0}
        assert queries.account(whole).balance.owed_minor == 0
        kept = queries.account(part).entries
        assert [(one.kind, one.note, one.taken_by) for one in kept if one.kind is EntryKind.CARRIED] == [
            (EntryKind.CARRIED, "the rest on Friday", "Mara")]
        assert queries.account(here).balance.held_minor == 1000  # its bill is still to come
