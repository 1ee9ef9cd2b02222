"""Profiles: shipped as data, confirmed and put in force by the owner, copied to be changed."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date, datetime

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import PROGRAM, Actor, record
from app.safety import queries
from app.safety.changes import changes
from app.safety.models.profiles import Profile, ProfileStep
from app.safety.regimes import SHIPPED, Regime, StepSpec, shipped_as
from app.safety.rules import Mark
from app.shop.queries import day


def ensure_profiles(*, now: datetime) -> None:
    """Put every shipped profile in that is not there yet, as it ships today. May be called any number of times.

    One that the shop has from an earlier version stays beside it as it was: its limits are what tests were done under.
    """
    there = _there()
    for regime in SHIPPED:
        if (regime.key, regime.revision) not in there:
            _ship(regime, now)


def all_shipped() -> bool:
    """Whether every shipped profile is there as it ships today."""
    return {(one.key, one.revision) for one in SHIPPED} <= _there()


def confirm_profile(profile: Profile, *, edition: str, edition_date: date, reason: str = "", by: Actor, now: datetime) -> None:
    """The owner has the document at hand and answers for every limit as it stands, naming edition and its date.

    `reason` says why an edition is used that was replaced; needed for such a one.
    """
    if not edition.strip():
        raise BadInput("Enter the edition, as the document names it.", "edition")
    if edition_date > now.date():
        raise BadInput("This edition’s date lies ahead.", "edition_date")
    if profile.replaced and not reason.strip() and profile.to_look_at:
        raise BadInput(f"This edition was replaced: {profile.replaced}. Enter why its limits are used.", "reason")
    if reason.strip() and profile.shipped is not None:
        keep_profile(profile, reason=reason, by=by, now=now)
    before = {"edition": profile.edition, "confirmed by": profile.confirmed_by or None}
    profile.edition, profile.edition_date = edition.strip(), edition_date
    profile.confirmed_at, profile.confirmed_by = now, by.name
    record(Event.PROFILE_CONFIRMED, profile, by=by, now=now, before=before, after={
        "edition": profile.edition, "edition date": day(edition_date), "confirmed by": by.name,
        "limits": [f"{step.title}, {step.applies.value}: {said_limit(step)}" for step in profile.steps if step.quantity]})


def changed_since(profile: Profile) -> list[str]:
    """What the regime that it came from says otherwise today, or what the one says that replaced it; a line each."""
    regime = newest_of(profile)
    return changes(profile.steps, regime.steps) if regime else []


def newest_of(profile: Profile) -> Regime | None:
    """What is offered in its place: the regime that replaced it, else its own as it ships today."""
    regime = profile.shipped
    return shipped_as(regime.replaced_by) or regime if regime else None


def keep_profile(profile: Profile, *, reason: str, by: Actor, now: datetime) -> None:
    """The owner has seen what was replaced or changed, and goes on with it. That confirms no limit."""
    if profile.shipped is None:
        raise RuleBroken("This profile is the shop’s own: nothing that ships has changed it.")
    if not reason.strip():
        raise BadInput("Enter why this profile is kept.", "reason")
    before = {"kept at revision": profile.kept_revision or None}
    profile.kept_revision, profile.kept_at, profile.kept_by = profile.shipped.revision, now, by.name
    profile.kept_reason = reason.strip()
    record(Event.PROFILE_KEPT, profile, by=by, now=now, before=before, reason=reason.strip(),
           after={"kept at revision": profile.kept_revision, "replaced by": profile.replaced or None,
                  "changed": profile.shipped.changed if profile.is_earlier else None})


def adopt(profile: Profile, *, by: Actor, now: datetime) -> Profile:
    """Put in force what has replaced this profile. The owner confirms its limits afterwards; until then it passes nothing."""
    regime = newest_of(profile)
    if regime is None:
        raise RuleBroken("This profile is the shop’s own: there is nothing to adopt in its place.")
    ensure_profiles(now=now)
    session().flush()
    found = session().scalars(sa.select(Profile).where(Profile.key == regime.key, Profile.revision == regime.revision)).one()
    put_in_force(found, by=by, now=now)
    return found


def put_in_force(profile: Profile, *, by: Actor, now: datetime) -> None:
    """Tests begin under this profile from now on; those begun keep theirs."""
    earlier = queries.profile_in_force()
    if profile.key and profile.is_earlier:
        raise RuleBroken("The program ships this profile otherwise today: put that one in force.")
    if earlier is profile:
        raise RuleBroken(f"{profile.name} is in force already.")
    if earlier is not None:
        earlier.in_force = False
        session().flush()
    profile.in_force = True
    record(Event.PROFILE_IN_FORCE, profile, by=by, now=now, before={"in force": earlier.name if earlier else None},
           after={"in force": profile.name})


def copy_profile(profile: Profile, *, name: str, by: Actor, now: datetime) -> Profile:
    """A profile of the shop's own to be changed. The confirmation of the first does not come along."""
    plain = " ".join(name.split())
    if not plain:
        raise BadInput("Give it a name of its own.", "name")
    if session().scalars(sa.select(Profile).where(sa.func.lower(Profile.name) == plain.lower())).first():
        raise BadInput(f"There is a profile “{plain}” already.", "name")
    made = Profile(name=plain, where=profile.where, edition="", copied_from=profile, added_at=now)
    session().add(made)
    for step in profile.steps:
        made.steps.append(ProfileStep(
            position=step.position, kind=step.kind, title=step.title, question=step.question, applies=step.applies,
            quantity=step.quantity, lower=step.lower, upper=step.upper, rule=step.rule, condition=step.condition,
            mark=step.mark, source=step.source, note=step.note, least_level=step.least_level, absent=step.absent))
    record(Event.PROFILE_COPIED, made, by=by, now=now, after={"name": plain, "copied from": profile.title})
    return made


@dataclass(frozen=True)
class LimitFacts:
    """Another limit for a step, in its quantity's unit, and where it comes from."""

    lower: float | None
    upper: float | None
    condition: str
    source: str


def change_limit(step: ProfileStep, facts: LimitFacts, *, by: Actor, now: datetime) -> None:
    """Only in a profile of the shop's own; the owner must confirm that profile anew."""
    profile = step.profile
    if not profile.is_own:
        raise RuleBroken("A published profile keeps its limits. Copy it and change the copy.")
    if step.quantity is None:
        raise RuleBroken("Nothing is measured at this step.")
    if facts.lower is None and facts.upper is None:
        raise BadInput("Enter a limit.", "upper")
    if facts.lower is not None and facts.upper is not None and facts.lower > facts.upper:
        raise BadInput("The lower limit lies above the upper one.", "lower")
    if not facts.source.strip():
        raise BadInput("Enter where the limit comes from.", "source")
    before = {step.title: said_limit(step), "confirmed by": profile.confirmed_by or None}
    step.lower, step.upper, step.rule = facts.lower, facts.upper, ""
    step.condition, step.source, step.note, step.mark = facts.condition.strip(), facts.source.strip(), "", Mark.SHOP
    profile.confirmed_at, profile.confirmed_by = None, ""
    record(Event.PROFILE_CHANGED, profile, by=by, now=now, before=before,
           after={step.title: said_limit(step), "confirmed by": None})


def said_limit(step: ProfileStep) -> str:
    """Its limit in words, and whether it is computed for each lead."""
    return step.limit + (" with 3 m of 1 mm², computed for each lead" if step.rule else "")


def _ship(regime: Regime, now: datetime) -> None:
    profile = Profile(key=regime.key, revision=regime.revision, name=regime.name, where=regime.where, edition=regime.edition,
                      added_at=now)
    session().add(profile)
    for place, spec in enumerate(regime.steps):
        profile.steps.append(_step(spec, place))
    record(Event.PROFILE_ADDED, profile, by=PROGRAM, now=now,
           after={"name": profile.name, "edition": profile.edition, "confirmed": not profile.unconfirmed})


def _there() -> set[tuple[str, int]]:
    return {(key, revision) for key, revision in session().execute(sa.select(Profile.key, Profile.revision))}


def _step(spec: StepSpec, place: int) -> ProfileStep:
    return ProfileStep(position=place, **asdict(spec))
