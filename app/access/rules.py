"""Roles, what each may do, and how long a sign-in lasts."""

from __future__ import annotations

from datetime import datetime, timedelta
from enum import StrEnum


class Role(StrEnum):
    """Who somebody is in the shop."""

    COUNTER = "counter"
    TECHNICIAN = "technician"
    OWNER = "owner"


class May(StrEnum):
    """One thing that a page lets a person do. Every view names the one it needs."""

    SEE = "see"  # read orders, findings, readings, documents
    CHECK_IN = "check in"  # customers, amps, intake
    MERGE = "merge records"  # two records of one customer or amp; an order that was opened by mistake
    MOVE = "move"  # move an order to its next stage, or back with a reason
    WORK = "work"  # findings, removals, time, readings: the bench
    QUOTE = "quote"  # draw up and issue a quote
    AUTHORISE = "take authorisation"  # record what a customer agreed to or declined
    PARTS = "parts"  # order and receive parts
    TEST = "test"  # the safety test
    HAND_OUT = "hand out"  # settle, sign and hand an amp back
    INSTRUMENTS = "instruments"  # keep the list of instruments and their calibration
    SETTINGS = "settings"  # rates, profiles, wording
    PEOPLE = "people"  # accounts and devices

    @property
    def words(self) -> str:
        """What it is to do that: 'technician sign-ins cannot change shop settings'."""
        return {"see": "see the records", "check in": "check in amps", "merge records": "merge records or void an order",
                "move": "move a repair to another stage",
                "work": "record bench work", "quote": "draw up or issue a quote", "take authorisation": "record approvals",
                "parts": "order or receive parts", "test": "record safety tests", "hand out": "return an amp",
                "instruments": "change instruments", "settings": "change shop settings",
                "people": "change people and devices"}[self.value]


_COUNTER = frozenset({May.SEE, May.CHECK_IN, May.MERGE, May.MOVE, May.QUOTE, May.AUTHORISE, May.PARTS, May.HAND_OUT})
_TECHNICIAN = frozenset({May.SEE, May.CHECK_IN, May.MOVE, May.WORK, May.QUOTE, May.PARTS, May.TEST, May.INSTRUMENTS})

ALLOWED: dict[Role, frozenset[May]] = {
    Role.COUNTER: _COUNTER,
    Role.TECHNICIAN: _TECHNICIAN,
    Role.OWNER: frozenset(May),
}

IDLE: dict[Role, timedelta] = {
    Role.COUNTER: timedelta(minutes=15),
    Role.TECHNICIAN: timedelta(minutes=10),
    Role.OWNER: timedelta(minutes=10),
}
LONGEST = timedelta(hours=12)
PASSWORD_LASTS = timedelta(minutes=5)  # for people, the shop's settings and limits: no PIN, no badge and no passkey opens them
CODE_LASTS = timedelta(days=1)  # a one-time code with which somebody sets their own password


def may(role: Role, what: May) -> bool:
    """Whether a person in this role may do this."""
    return what in ALLOWED[role]


def password_counts(given: datetime | None, now: datetime) -> bool:
    """Whether a password that was given then still opens what asks for one; `given` is None after a PIN, a badge or a passkey."""
    return given is not None and timedelta(0) <= now - given <= PASSWORD_LASTS


def left_to(what: May) -> str:
    """Who does this, said to somebody who may not: 'Only counter and owner sign-ins can record approvals.'"""
    roles = [role.value for role in Role if may(role, what)]
    return f"Only {' and '.join([', '.join(roles[:-1]), roles[-1]] if len(roles) > 1 else roles)} sign-ins can {what.words}."
