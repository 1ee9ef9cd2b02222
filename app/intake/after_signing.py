"""What follows a signature under the terms: the receipt, which a room further on makes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from app.journal.service import Actor

# Makes and issues the receipt of an order, after its signature was saved; says why it could not, or nothing.
Issue = Callable[[int, Actor, datetime], str]

_issue: Issue = lambda _order_id, _by, _now: "The receipt is not issued yet."  # noqa: E731 - until the papers' room says otherwise


def use(issue: Issue) -> None:
    """Issue receipts by this from now on."""
    global _issue  # noqa: PLW0603 - the counter knows no papers
    _issue = issue


def issue_receipt(order_id: int, by: Actor, now: datetime) -> str:
    """Why the receipt could not be issued; empty if it was."""
    return _issue(order_id, by, now)
