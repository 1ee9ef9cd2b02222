"""A finding: its photo and pin on the left, what is said about it on the right."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, allow, may
from app.access.rules import May
from app.db import session
from app.electrics.valves.lookup import all_names
from app.errors import BadInput
from app.findings import usual
from app.findings.forms.findings import FindingForm
from app.findings.models.findings import Finding
from app.findings.rules.life import Area, Confidence, DecidedBy, Origin
from app.findings.rules.risk import MATRIX, Risk, risk_of
from app.findings.rules.signs import RULES
from app.findings.service import findings as findings_service
from app.findings.service import outcome as outcome_service
from app.findings.views.room import bp, load_finding
from app.kernel.form_fields import read_form
from app.kernel.resubmitted_uploads import uploads
from app.kernel.saving import Saved, check_fresh, saving
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.photos import pins
from app.photos import queries as photo_queries
from app.photos import service as photo_service
from app.photos.models import Phase, Photo, Pin
from app.photos.prepare import Prepared, prepare_all


@bp.route("/findings/new", methods=["GET", "POST"])
@may(May.WORK)
def new_finding(order_id: int) -> Response | str:
    """A finding that begins with a photo, a chip or a blank."""
    order = load_order(order_id, May.WORK)
    begun = usual.find(request.args.get("code", ""))
    form = read_form(FindingForm, **{**BLANK, **(begun.filled() if begun else {}), **_asked()})
    if begun := begun or usual.find(form.code.data or ""):
        form.offer(begun.observation)
    photo = _photo(order, form)
    if request.method == "POST" and form.validate():
        try:
            prepared = _prepare_uploads(form)
            with saving() as saved:
                finding = findings_service.record_finding(order, form.facts(), by=actor(), now=clock.now())
                _decide(finding, form)
                _attach_photos(finding, order, form, photo, prepared)
                flash(f"{finding.title} is recorded.", "saved")
                return _onward(saved, order, finding, photo)
        except BadInput as wrong:
            form.add_error(wrong)
    return _show(order, None, form, photo, area=begun.area if begun else _area(photo))


@bp.route("/findings/<int:finding_id>", methods=["GET", "POST"])
@may(May.SEE)
def finding(order_id: int, finding_id: int) -> Response | str:
    """One finding: said better, decided, pinned."""
    order, found = load_finding(order_id, finding_id)
    pinned = pins.of_record("finding", found.id)
    form = read_form(FindingForm, **FindingForm.stored(found), **_first_pin(pinned))
    photo = _photo(order, form)
    if request.method == "POST":
        allow(May.WORK)
        if form.validate():
            try:
                prepared = _prepare_uploads(form)
                with saving() as saved:
                    check_fresh(found, form)
                    findings_service.change_finding(found, form.facts(), by=actor(), now=clock.now())
                    _decide(found, form)
                    _attach_photos(found, order, form, photo, prepared)
                    flash(f"{found.title} is saved.", "saved")
                    return _onward(saved, order, found, photo)
            except BadInput as wrong:
                form.add_error(wrong)
    return _show(order, found, form, photo)


BLANK = {"origin": Origin.WEAR, "confidence": Confidence.PROBABLE, "authority": DecidedBy.TECHNICIAN,
         "area": Area.BOARDS}
# Where a photo was taken and what is usually found there.
SUGGESTED = {"mains": Area.MAINS, "ht supply": Area.HT_SUPPLY, "valve base": Area.VALVE_BASES, "board": Area.BOARDS,
             "control": Area.CONTROLS, "jack": Area.JACKS, "transformer": Area.HT_SUPPLY, "speaker": Area.SPEAKER,
             "cabinet": Area.CABINET}


def _asked() -> dict[str, object]:
    """What the address says: which photo, where on it; which part it is about and what was read there."""
    found: dict[str, object] = {name: said for name in ("place", "observation") if (said := request.args.get(name, ""))}
    for name, kind in (("photo_id", int), ("pin_x", float), ("pin_y", float)):
        value = request.args.get(name, type=kind)
        if value is not None:
            found[name] = value
    return found


def _area(photo: Photo | None) -> Area | None:
    """The area whose chips are laid out: as asked, else as the photo's place suggests."""
    asked = request.args.get("area", "")
    if asked in list(Area):
        return Area(asked)
    place = photo.place.lower() if photo else ""
    return next((area for start, area in SUGGESTED.items() if place.startswith(start)), None)


def _first_pin(pinned: list[Pin]) -> dict[str, object]:
    asked = request.args.get("photo_id", type=int)
    chosen = next((pin for pin in pinned if pin.photo_id == asked), None) if asked else (pinned[0] if pinned else None)
    if chosen is None:
        return {"photo_id": asked}
    return {"photo_id": chosen.photo_id, "pin_x": chosen.x, "pin_y": chosen.y}


def _photo(order: RepairOrder, form: FindingForm) -> Photo | None:
    found = photo_queries.find(form.photo_id.data) if form.photo_id.data else None
    return found if found is not None and found.order_id == order.id and found.struck_at is None else None


def _prepare_uploads(form: FindingForm) -> list[Prepared]:
    """The photos that came with the form, kept before anything is written."""
    kept, refused = prepare_all(uploads("photos"))
    if refused and not kept:
        raise BadInput(" ".join(f"{bad.name}: {bad.words}" for bad in refused), "photos")
    for one in refused:
        flash(f"{one.name}: {one.words}", "refused")
    return kept


def _decide(finding: Finding, form: FindingForm) -> None:
    if form.disposition.data is not None:
        outcome_service.decide(finding, form.disposition.data, words=form.disposition_words.data or "",
                       authority=form.authority.data, by=actor(), now=clock.now())


def _attach_photos(finding: Finding, order: RepairOrder, form: FindingForm, photo: Photo | None,
                   prepared: list[Prepared]) -> None:
    """Pin the finding to the photo that was open; photos that came with it show it as a whole."""
    now, by = clock.now(), actor()
    session().flush()
    if photo is not None:
        pins.drop(photo, "finding", finding.id, str(finding.number), x=form.pin_x.data, y=form.pin_y.data, by=by,
                  now=now)
    for one in prepared:
        place = " ".join(filter(None, (finding.area.value, finding.place)))
        taken = photo_service.add(order, one, place=place, caption=finding.observation[:120], phase=Phase.AS_FOUND,
                                  by=by, now=now)
        session().flush()
        pins.drop(taken, "finding", finding.id, str(finding.number), by=by, now=now)


def _onward(saved: Saved, order: RepairOrder, finding: Finding, photo: Photo | None) -> Response:
    """To the next photo if that was asked for, else to the list."""
    if request.form.get("then") == "next" and photo is not None:
        row = list(photo_queries.of_order(order.id))
        after = row[row.index(photo) + 1:]
        if after:
            return saved("photos.one", photo_id=after[0].id)
    return saved("findings.page", order_id=order.id, _anchor=f"finding-{finding.id}")


def _show(order: RepairOrder, found: Finding | None, form: FindingForm, photo: Photo | None,
          area: Area | None = None) -> str:
    row = list(photo_queries.of_order(order.id))
    here = row.index(photo) if photo in row else -1
    return render_template(
        "findings/finding.html", order=order, finding=found, form=form, photo=photo, choice=row, count=len(row),
        here=here,
        before=row[here - 1] if here > 0 else None, after=row[here + 1] if 0 <= here < len(row) - 1 else None,
        pins_here=pins.on_photo(photo.id) if photo else (), url_of=pins.url_of,
        areas=list(Area), laid_out=area, usuals=[one for one in usual.catalogue() if one.area is area] if area else [],
        rules={sign: rule for sign, rule in RULES.items() if found and sign in found.sign_set}, valves=all_names(),
        risk=None if form.probability.errors else risk_of(form.severity.data, form.probability.data or None), risks=list(Risk),
        matrix={key.value: value for key, value in MATRIX.items()}, has_errors=form.has_errors)
