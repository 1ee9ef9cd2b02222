"""One paper as a page: gathered, written, and its fingerprint taken."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from flask import current_app

from app.documents.build import estimate, notice, receipt, report, unrepaired
from app.documents.rules import Kind, photo_address
from app.errors import NotFound
from app.kernel.unbroken import unbroken
from app.orders.models import RepairOrder
from app.shop.queries import the_shop

Gather = Callable[[RepairOrder, int], dict[str, Any]]

GATHERERS: dict[Kind, Gather] = {
    Kind.RECEIPT: receipt.values,
    Kind.ESTIMATE: estimate.values,
    Kind.REPORT: report.values,
    Kind.UNREPAIRED: unrepaired.values,
    Kind.NOTICE: notice.values,
}

_BETWEEN_TAGS = re.compile(r"(?<=>)[^<>]+(?=<)")


@dataclass(frozen=True)
class Paper:
    """A paper before it is issued: its page (the body, HTML), and the SHA-256 of the facts on it.

    The signature of whoever takes the amp away stands on the page and not among the facts: it is given for them.
    """

    kind: Kind
    about_id: int
    title: str
    page: str
    facts_sha256: str

    @property
    def page_sha256(self) -> str:
        return hashlib.sha256(self.page.encode()).hexdigest()


def paper(order: RepairOrder, kind: Kind, about_id: int = 0) -> Paper:
    """The paper as things stand now; NotFound if there is nothing yet that it could be about."""
    values = GATHERERS[kind](order, about_id)
    if not values:
        raise NotFound(f"There is nothing yet for the {kind.word.lower()} of repair {order.number}.")
    template = f"bodies/{kind.value}.html"
    values = {"photo_address": photo_address, "order": order, **values}
    page = write(template, **values)
    facts = write(template, **{**values, "signed": None}) if values.get("signed") else page
    return Paper(kind, about_id, f"{kind.word}, repair {order.number}: {order.amp.title}", page,
                 hashlib.sha256(facts.encode()).hexdigest())


def write(template: str, **values: Any) -> str:
    """A template of papers, filled. Knows the shop and nothing of a request: papers are the same whoever asks."""
    shop = the_shop()
    page: str = current_app.jinja_env.get_template(f"documents/{template}").render(shop=shop, w=shop.w, **values)
    return _BETWEEN_TAGS.sub(lambda words: unbroken(words.group()), page)
