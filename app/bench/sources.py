"""Every shipped limit, rule, finding and caution with its source, how it was read and when: one table made from the data.

The yearly list is what of it concerns this shop, and what nobody has read yet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from flask import Blueprint, render_template

from app import clock
from app.access.guard import may
from app.access.rules import May
from app.findings import usual
from app.findings.rules import risk
from app.handover import notices
from app.incidents import duties
from app.intake import terms
from app.measuring.rules import say_band
from app.money import lien
from app.personal import retention
from app.safety.models.profiles import Profile
from app.safety.queries import profile_in_force
from app.safety.regimes import SHIPPED, Regime, StepSpec
from app.shop import cautions
from app.shop.jurisdictions import JURISDICTIONS
from app.shop.queries import the_shop

bp = Blueprint("sources", __name__, url_prefix="/limits")
A_YEAR = timedelta(days=365)  # how long what was read is relied on without looking again: the shop's own rule
STANDARDS = "https://www.iec.ch, and the standards body of the country"


@dataclass(frozen=True)
class Row:
    """One limit or rule: whose, what it says, where it stands, how it was read (`mark`) and when."""

    group: str
    belongs_to: str  # the key of its regime or jurisdiction
    what: str
    says: str
    source: str
    address: str
    mark: str
    read_on: date
    confirmed: bool  # seen in its source, or nobody's law

    def is_due(self, today: date) -> bool:
        """It was not read at all, or longer ago than a year."""
        return not self.confirmed or self.read_on + A_YEAR <= today


def rows() -> Iterator[Row]:
    """Every one, in the order of the work."""
    for regime in SHIPPED:
        yield from (_step(regime, step) for step in regime.steps)
    yield Row("Risk letters", "risk", "Matrix of severity and probability", "the letter of each finding", risk.MATRIX_SOURCE,
              risk.ADDRESS, risk.MATRIX_READ, risk.READ_ON, confirmed=False)
    for entry in usual.shipped():
        letter = entry.risk.words if entry.risk else "no risk"
        judged = f"Severity {entry.severity}, probability {entry.probability or 'none'}: {letter}."
        yield Row("Usual findings", "findings", f"{entry.code} {entry.short}", f"{judged} Proved by: {entry.check_words}",
                  usual.SOURCE, "", usual.SOURCE_MARK, usual.LOOKED_ON, confirmed=True)
    for caution in cautions.shipped():
        yield Row("Cautions", "cautions", caution.name, caution.line, caution.source, "", cautions.MARKS[caution.mark], caution.on,
                  caution.mark != "M")
    for one in terms.known().values():
        for paragraph in (*one.paragraphs, *one.invoice):
            yield Row("Terms", one.id, f"{one.title}: {paragraph.head.lower()}", paragraph.text, paragraph.source,
                      paragraph.address, paragraph.read, one.checked, not paragraph.unconfirmed)
        for matter in one.look_up:
            yield Row("Not read yet", one.id, f"{one.title}: {matter.matter.lower()}", "not printed", matter.where, "", "not read",
                      one.checked, confirmed=False)
    for rules in notices.known().values():
        for rule in rules.rules:
            yield Row("Uncollected amps", rules.id, rules.title, rule.words, rule.source, rule.address, rule.read, rules.checked,
                      not rule.unconfirmed)
    for code, held in lien.known().items():
        yield Row("Holding an amp until it is paid", code, JURISDICTIONS[code], held.words, held.source, held.address, held.read,
                  held.checked, not held.unconfirmed)
    for duty in duties.known().values():
        yield Row("Reports of injuries", duty.jurisdiction, f"Report of an injury: {duty.to}", duty.words, duty.source,
                  duty.address, duty.read, duty.checked, not duty.unconfirmed)
    for periods in retention.known().values():
        for period in periods:
            yield Row("Papers kept for the law", period.jurisdiction, "How long bills and quotes are kept", period.words,
                      period.source, period.address, period.read, period.checked, not period.unconfirmed)


def of_this_shop(profile: Profile | None, jurisdiction: str) -> list[Row]:
    """What concerns a shop with this profile in force in this jurisdiction."""
    law = jurisdiction.strip().lower()
    wanted = {profile.origin.key if profile else "", "risk", law if law in terms.known() else terms.PLAIN,
              law if law in notices.known() else notices.PLAIN, duties.for_jurisdiction(jurisdiction).jurisdiction, law,
              *(one.jurisdiction for one in retention.for_jurisdiction(jurisdiction))}
    return [row for row in rows() if row.belongs_to in wanted]


def _step(regime: Regime, step: StepSpec) -> Row:
    limit = say_band(step.lower, step.upper, step.quantity.unit) if step.quantity else ""
    says = f"{limit or 'computed from the lead'}; {step.condition}" if step.quantity else step.question
    return Row("Safety limits" if step.quantity else "Visual inspection", regime.key,
               f"{regime.name}, edition {regime.edition}: {step.title}, {step.applies.value}", says, step.source,
               "" if not step.quantity and not step.mark.needs_owner else STANDARDS, step.mark.word, regime.read_on,
               not step.mark.needs_owner)


@bp.get("/sources")
@may(May.SEE)
def limits() -> str:
    """All of it."""
    found = list(rows())
    return render_template("bench/sources.html", rows=found, groups=_groups(found), today=_today(), yearly=False, profile=None)


@bp.get("/yearly")
@may(May.SETTINGS)
def yearly() -> str:
    """What this shop relies on and the owner looks at again once a year."""
    profile = profile_in_force()
    found = of_this_shop(profile, the_shop().jurisdiction)
    return render_template("bench/sources.html", rows=found, groups=_groups(found), today=_today(), yearly=True, profile=profile)


def _groups(found: list[Row]) -> list[tuple[str, list[Row]]]:
    names = dict.fromkeys(row.group for row in found)
    return [(name, [row for row in found if row.group == name]) for name in names]


def _today() -> date:
    return clock.now().astimezone(the_shop().zone).date()
