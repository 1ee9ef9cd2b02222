"""An order's recordings: all of them side by side, adding one, striking one out, the file, and the sweep to be sent."""

from __future__ import annotations

from flask import Blueprint, Response, flash, make_response, render_template, request
from werkzeug.wrappers import Response as AnyResponse

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.electrics.sound.made import as_wav
from app.electrics.sound.sweep import log_sweep
from app.errors import BadInput, NotFound
from app.kernel.form_fields import read_form
from app.kernel.resubmitted_uploads import not_taken, uploads
from app.kernel.saving import Saved, save_or_reshow
from app.measuring.rules import Phase
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.photos.prepare import name_of
from app.photos.store import the_store
from app.sound import queries, service
from app.sound.forms import RecordingForm, StrikeForm
from app.sound.models import MEDIA, Recording
from app.sound.rules import CLIPS_AT, Setting, SoundKind

bp = Blueprint("sound", __name__, url_prefix="/orders/<int:order_id>/sound")
SWEEP_RATE, SWEEP_LEVEL = 48000, 0.5


@bp.get("")
@may(May.SEE)
def page(order_id: int) -> str:
    """What was recorded as found and as left, side by side."""
    order = load_order(order_id)
    return render_template("sound/page.html", order=order, comparisons=queries.comparisons(order),
                           recordings=queries.of_order(order))


@bp.route("/add", methods=["GET", "POST"])
@may(May.WORK)
def add(order_id: int) -> AnyResponse | str:
    """One more recording."""
    order = load_order(order_id, May.WORK)
    usual = Setting(SoundKind.NOISE)
    form = read_form(RecordingForm, phase=Phase.AS_FOUND, channel=1, mains_hz=usual.mains_hz, tone_hz=usual.tone_hz,
                     sweep_low=usual.sweep_low, sweep_high=usual.sweep_high, sweep_seconds=usual.sweep_seconds, clips_at=CLIPS_AT,
                     level_of=0)
    form.offer(queries.of_order(order))
    prepared = _prepared(form, order) if request.method == "POST" and form.validate() else None

    def act(saved: Saved) -> AnyResponse:
        assert prepared is not None  # noqa: S101 - only asked where it is
        service.add_recording(order, prepared, form.phase.data, form.condition.data or "", by=actor(), now=clock.now())
        flash("The recording is kept and its figures are read.", "saved")
        return saved("sound.page", order_id=order_id)

    done = save_or_reshow(form, act) if prepared else None
    return done or render_template("sound/add.html", order=order, form=form, has_errors=form.has_errors)


@bp.route("/<int:recording_id>/strike", methods=["GET", "POST"])
@may(May.WORK)
def strike(order_id: int, recording_id: int) -> AnyResponse | str:
    """A recording that does not count."""
    order, found = load_order(order_id, May.WORK), _load(order_id, recording_id)
    form = read_form(StrikeForm)

    def act(saved: Saved) -> AnyResponse:
        service.strike_recording(found, reason=form.reason.data or "", by=actor(), now=clock.now())
        flash("The recording is struck out; its file is kept.", "saved")
        return saved("sound.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("sound/strike.html", order=order, recording=found, form=form,
                                                        has_errors=form.has_errors)


@bp.get("/<int:recording_id>/file")
@may(May.SEE)
def file(order_id: int, recording_id: int) -> Response:
    """The recording as it was sent."""
    found = _load(order_id, recording_id)
    return _wav(the_store().get(found.sha256), f"recording-{recording_id}.wav")


@bp.get("/sweep")
@may(May.WORK)
def sweep(order_id: int) -> Response:
    """The sweep that a response is read from, at half of full scale, with a second of quiet behind it."""
    load_order(order_id, May.WORK)
    usual = Setting(SoundKind.SWEEP)
    sent = log_sweep(usual.sweep_low, usual.sweep_high, usual.sweep_seconds, SWEEP_RATE)
    return _wav(as_wav(SWEEP_LEVEL * sent, SWEEP_RATE, quiet=1.0), "sweep.wav")


def _wav(data: bytes, name: str) -> Response:
    answer = make_response(data)
    answer.mimetype = MEDIA
    answer.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _load(order_id: int, recording_id: int) -> Recording:
    found = queries.find(recording_id)
    if found is None or found.order_id != order_id:
        raise NotFound("There is no such recording on this order.")
    return found


def _prepared(form: RecordingForm, order: RepairOrder) -> service.Prepared | None:
    """The file read and kept; a refusal stands beside its field, and what is typed stays."""
    given = uploads("file")
    try:
        if len(given) != 1:
            raise BadInput("Choose one recording, and leave the others out." if given else "Choose the recording.", "file")
        earlier = queries.find(form.level_of.data) if form.level_of.data else None
        setting, basis = form.setting(earlier if earlier is not None and earlier.order_id == order.id else None)
        if form.known_v.data is not None and setting.volts_full is not None:
            raise BadInput("Enter the level once: by the meter, by the divider, or as an earlier recording.", "known_v")
        data = given[0].stream.read(service.MOST_BYTES + 1)
        given[0].stream.seek(0)
        return service.prepare(data, setting, known_v=form.known_v.data, level_basis=basis)
    except BadInput as wrong:
        if given and wrong.field == "file":
            not_taken(given[0])
            wrong = BadInput(f"{name_of(given[0])}: {wrong.words}", "file")
        form.add_error(wrong)
        return None
