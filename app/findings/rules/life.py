"""The life of a finding: what may be decided, what must be done, and how it may end. Pure."""

from __future__ import annotations

from enum import StrEnum

from app.findings.rules.risk import MUST_ACT, Risk


class Area(StrEnum):
    """Where in the amp."""

    MAINS = "mains"
    EARTH = "earth"
    HT_SUPPLY = "HT supply"
    BIAS = "bias"
    OUTPUT = "output stage"
    VALVE_BASES = "valve bases"
    BOARDS = "boards"
    WIRING = "wiring"
    CONTROLS = "controls"
    JACKS = "jack sockets"
    SPEAKER = "speaker"
    CABINET = "cabinet"


class Confidence(StrEnum):
    """How sure the cause is."""

    PROVEN = "proven"
    PROBABLE = "probable"
    POSSIBLE = "possible"


class Origin(StrEnum):
    """How it came about."""

    WEAR = "wear"
    DESIGN = "design"
    EARLIER_WORK = "earlier work"
    USE = "use"
    TRANSIT = "transit"
    OURS = "ours"


class Disposition(StrEnum):
    """What becomes of it."""

    ACCEPT = "accept_as_is"
    MONITOR = "monitor"
    CLEAN = "clean_adjust"
    REPAIR = "repair"
    REPLACE_LIKE = "replace_like"
    REPLACE_UPGRADE = "replace_upgrade"
    REMOVE_MOD = "remove_mod"
    REFER = "refer"
    QUARANTINE = "quarantine"
    DECLINED = "customer_declined"
    NOT_ECONOMIC = "not_economic"

    @property
    def word(self) -> str:
        return {"accept_as_is": "keep", "monitor": "watch", "clean_adjust": "clean or adjust", "repair": "repair",
                "replace_like": "replace like for like", "replace_upgrade": "upgrade",
                "remove_mod": "remove modification", "refer": "refer", "quarantine": "do not energise",
                "customer_declined": "declined by the customer", "not_economic": "beyond economic repair"}[self.value]


class DecidedBy(StrEnum):
    """Who decided."""

    TECHNICIAN = "technician"
    SHOP_OWNER = "shop owner"
    CUSTOMER = "customer"


class Status(StrEnum):
    """Where a finding stands. Derived from what happened to it, never stored."""

    OPEN = "open"
    DECIDED = "decided"
    ACTED_ON = "done"
    PROVED = "proved"
    DECLINED = "declined in writing"
    WITHDRAWN = "withdrawn"

    @property
    def is_ended(self) -> bool:
        return self in (Status.PROVED, Status.DECLINED, Status.WITHDRAWN)


# Nothing is done to the amp, so there is nothing to act on before the check.
LEAVES_IT = frozenset({Disposition.ACCEPT, Disposition.MONITOR})
# Chosen on the page; a decline comes with its paper, through the quote.
CHOICES = tuple(one for one in Disposition if one is not Disposition.DECLINED)


def why_not_decided(disposition: Disposition, risk: Risk | None) -> str:
    """Why this cannot be decided for this risk; empty if it can."""
    if disposition is Disposition.DECLINED:
        return "A customer declines on the quote, in writing."
    if risk in MUST_ACT and disposition in LEAVES_IT:
        return (f"A {risk.word if risk else ''} risk cannot be kept. Repair it, refer it, or mark the amp "
                "“do not energise”. Only the customer can decline it, in writing.")
    return ""


def why_not_acted_on(status: Status, disposition: Disposition | None) -> str:
    """Why nothing can be done about it yet or any more; empty if it can."""
    if status is Status.OPEN:
        return "Choose a disposition first."
    if status.is_ended:
        return f"This finding is {status.value}."
    if disposition in LEAVES_IT:
        return "It is kept as it is: there is no work to record. Record the check."
    return ""


def why_not_proved(status: Status, disposition: Disposition | None) -> str:
    """Why its check cannot be recorded; empty if it can."""
    if status.is_ended:
        return f"This finding is {status.value}."
    if disposition in (Disposition.QUARANTINE, Disposition.NOT_ECONOMIC):
        return f"There is no repair to prove: the disposition is “{disposition.word}”."
    if status is Status.ACTED_ON or (status is Status.DECIDED and disposition in LEAVES_IT):
        return ""
    return "Record the work done first."
