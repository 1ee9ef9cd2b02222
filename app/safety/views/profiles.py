"""The profiles: what their limits are and where they come from; confirming, putting in force, copying."""

from __future__ import annotations

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.db import transaction
from app.errors import BadInput, NotFound
from app.kernel.form_fields import read_form
from app.kernel.saving import check_fresh, saving
from app.safety import queries
from app.safety.forms import ConfirmForm, CopyForm, KeepForm, LimitForm
from app.safety.models.profiles import Profile
from app.safety.service import profiles as profiles_service

bp = Blueprint("profiles", __name__, url_prefix="/safety-profiles")


@bp.get("")
@may(May.SEE)
def page() -> str:
    """Every profile, the one in force first."""
    if not profiles_service.all_shipped():
        with transaction():
            profiles_service.ensure_profiles(now=clock.now())
    return render_template("safety/profiles.html", profiles=queries.profiles())


@bp.get("/<int:profile_id>")
@may(May.SEE)
def one(profile_id: int) -> str:
    """One profile with every limit, its mark and its source."""
    found = _load(profile_id)
    return render_template("safety/profile.html", profile=found, newest=profiles_service.newest_of(found))


@bp.route("/<int:profile_id>/changed", methods=["GET", "POST"])
@may(May.SETTINGS, password=True)
def changed(profile_id: int) -> Response | str:
    """What was replaced or changed since the shop took this profile; the owner keeps it with a reason, or adopts the new one."""
    found = _load(profile_id)
    form = read_form(KeepForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            profiles_service.keep_profile(found, reason=form.reason.data, by=actor(), now=clock.now())
            flash(f"{found.name} is kept.", "saved")
            return saved("profiles.one", profile_id=profile_id)
    return render_template("safety/changed.html", profile=found, newest=profiles_service.newest_of(found),
                           changes=profiles_service.changed_since(found), form=form, has_errors=form.has_errors)


@bp.post("/<int:profile_id>/adopt")
@may(May.SETTINGS, password=True)
def adopt(profile_id: int) -> Response:
    """In force: what has replaced this profile."""
    found = _load(profile_id)
    with saving() as saved:
        adopted = profiles_service.adopt(found, by=actor(), now=clock.now())
        flash(f"{adopted.name} is in force." + (" It passes no amp until you confirm it." if adopted.unconfirmed else ""), "saved")
        return saved("profiles.one", profile_id=adopted.id)


@bp.post("/<int:profile_id>/in-force")
@may(May.SETTINGS, password=True)
def in_force(profile_id: int) -> Response:
    found = _load(profile_id)
    with saving() as saved:
        profiles_service.put_in_force(found, by=actor(), now=clock.now())
        flash(f"{found.name} is in force.", "saved")
        return saved("profiles.one", profile_id=profile_id)


@bp.route("/<int:profile_id>/confirm", methods=["GET", "POST"])
@may(May.SETTINGS, password=True)
def confirm(profile_id: int) -> Response | str:
    """The owner answers for the limits as they stand."""
    found = _load(profile_id)
    form = read_form(ConfirmForm, edition=found.edition, edition_date=found.edition_date)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                check_fresh(found)
                profiles_service.confirm_profile(found, edition=form.edition.data, edition_date=form.edition_date.data,
                                                 reason=form.reason.data or "", by=actor(), now=clock.now())
                flash(f"{found.name} is confirmed.", "saved")
                return saved("profiles.one", profile_id=profile_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("safety/confirm.html", profile=found, form=form, has_errors=form.has_errors)


@bp.route("/<int:profile_id>/copy", methods=["GET", "POST"])
@may(May.SETTINGS, password=True)
def copy(profile_id: int) -> Response | str:
    """A profile of the shop's own, to be changed."""
    found = _load(profile_id)
    form = read_form(CopyForm)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                made = profiles_service.copy_profile(found, name=form.name.data, by=actor(), now=clock.now())
                flash(f"{made.name} is the shop’s own: change its limits, then confirm it.", "saved")
                return saved("profiles.one", profile_id=made.id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("safety/copy.html", profile=found, form=form, has_errors=form.has_errors)


@bp.route("/steps/<int:step_id>", methods=["GET", "POST"])
@may(May.SETTINGS, password=True)
def limit(step_id: int) -> Response | str:
    """Another limit in a profile of the shop's own."""
    step = queries.find_profile_step(step_id)
    if step is None or step.quantity is None:
        raise NotFound("There is no such limit.")
    form = read_form(LimitForm, **LimitForm.stored(step))
    form.quantity = step.quantity
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                check_fresh(step.profile)
                profiles_service.change_limit(step, form.facts(), by=actor(), now=clock.now())
                flash("Changed. The profile passes nothing until it is confirmed again.", "saved")
                return saved("profiles.one", profile_id=step.profile_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("safety/limit.html", step=step, profile=step.profile, form=form, has_errors=form.has_errors)


def _load(profile_id: int) -> Profile:
    profile = queries.find_profile(profile_id)
    if profile is None:
        raise NotFound("There is no profile at this address.")
    return profile
