"""What is asked back while an amp is checked in: somebody, or an amp, that the shop seems to know already."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from flask import url_for

from app.intake.forms.records import CheckInForm
from app.intake.queries import known
from app.records.models import Amp, Customer
from app.records.spec import AmpFacts, CustomerFacts

ROLES = {"depositor": "Left by", "owner": "Owner", "approver": "May approve cost"}


@dataclass(frozen=True)
class Offer:
    """One record that may be meant: what it is, the button's words and value, or the address where it stands already."""

    words: str
    button: str = ""
    take: str = ""
    url: str = ""


def offers(written: Mapping[str, CustomerFacts], amp: AmpFacts | None) -> tuple[Offer, ...]:
    """For everybody written down by role, and for the amp, the records that may be the same."""
    people = [_person(role, one) for role, facts in written.items() for one in known.people_like(facts)]
    return (*people, *(_amp(one) for one in known.amps_like(amp))) if amp is not None else tuple(people)


def take(form: CheckInForm, what: str, customer: Customer | None) -> None:
    """Choose what was offered, and keep in sight what was typed and does not stand on the record that was chosen."""
    role, _, key = what.partition(":")
    if role == "depositor" and customer is not None:
        there = {customer.phone, customer.email}
        more = [text for text in (form.phone.data, form.email.data) if text and text.strip() not in there]
        form.also_reached.data = ", ".join(more)
    if role in ("owner", "approver"):
        form[f"{role}_is"].data = f"c{key}"
        for part in ("name", "phone", "email"):
            form[f"{role}_{part}"].data, form[f"{role}_{part}"].raw_data = "", None


def _person(role: str, one: Customer) -> Offer:
    reach = " · ".join(text for text in (one.phone, one.email) if text) or one.reach
    return Offer(f"{ROLES[role]}: {one.name}, {reach}", f"Choose {one.name}", f"{role}:{one.id}")


def _amp(amp: Amp) -> Offer:
    last = known.last_order(amp.id)
    marked = f"{amp.title}, serial {amp.serial}"
    if last is not None and last.is_open:
        return Offer(f"{marked}: it is here already as repair {last.number}.", f"Open repair {last.number}",
                     url=url_for("bench.order", order_id=last.id))
    brought = f", last brought by {last.depositor.name}" if last else ""
    return Offer(f"{marked}{brought}", f"Choose this {amp.title}", f"amp:{amp.id}")
