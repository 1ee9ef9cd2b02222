"""One paper: its facts gathered, their fingerprint taken, and its page written, for the screen and the PDF alike."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from flask import current_app

from app.documents.models import IssuedDocument
from app.documents.papers import bill, credit, estimate, notice, payment, receipt, report, unrepaired
from app.documents.rules import Kind, photo_address
from app.documents.told import told
from app.errors import NotFound
from app.kernel.facts import Comparison, Facts, Said, fingerprint
from app.kernel.facts import still_says as facts_still_say
from app.kernel.unbroken import unbroken
from app.orders.models import RepairOrder
from app.shop.queries import the_shop

GATHERERS: dict[Kind, Callable[[RepairOrder, int], Facts | None]] = {
    Kind.RECEIPT: receipt.facts,
    Kind.ESTIMATE: estimate.facts,
    Kind.REPORT: report.facts,
    Kind.UNREPAIRED: unrepaired.facts,
    Kind.NOTICE: notice.facts,
    Kind.BILL: bill.facts,
    Kind.CREDIT: credit.facts,
    Kind.PAYMENT: payment.facts,
}

_BETWEEN_TAGS = re.compile(r"(?<=>)[^<>]+(?=<)")


@dataclass(frozen=True)
class Paper:
    """A paper before it is issued: its facts, and the page that says them (the body, HTML)."""

    kind: Kind
    about_id: int
    title: str
    page: str
    facts: Facts
    draft: str  # what it is marked with on every sheet; empty if nothing

    @property
    def facts_sha256(self) -> str:
        return fingerprint(self.kind.value, self.facts)

    @property
    def page_sha256(self) -> str:
        return hashlib.sha256(self.page.encode()).hexdigest()


def facts_of(order: RepairOrder, kind: Kind, about_id: int = 0) -> Any:
    """What the paper would say as things stand now; NotFound if there is nothing yet that it could be about."""
    found = GATHERERS[kind](order, about_id)
    if found is None:
        raise NotFound(f"There is nothing yet for the {kind.word.lower()} of repair {order.number}.")
    return found


def paper(order: RepairOrder, kind: Kind, about_id: int = 0) -> Paper:
    """The paper as things stand now; NotFound if there is nothing yet that it could be about."""
    facts = facts_of(order, kind, about_id)
    page = write(f"bodies/{kind.value}.html", facts=facts, photo_address=photo_address, **told(kind, facts))
    draft, called = getattr(facts, "draft", ""), kind.called(the_shop().wording)
    return Paper(kind, about_id, f"{called}, repair {order.number}: {order.amp.title}", page, facts, draft)


def still_says(issued: IssuedDocument, facts: Facts) -> Comparison:
    """Whether an issued paper says what these facts of today say."""
    return facts_still_say(issued.kind.value, Said(issued.facts_version, issued.facts_sha256, issued.issued_at), facts)


def write(template: str, **values: Any) -> str:
    """A template of papers, filled. Knows the shop and nothing of a request: papers are the same whoever asks."""
    shop = the_shop()
    page: str = current_app.jinja_env.get_template(f"documents/{template}").render(shop=shop, w=shop.w, **values)
    return _BETWEEN_TAGS.sub(lambda words: unbroken(words.group()), page)
