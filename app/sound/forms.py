"""What people say about a recording."""

from __future__ import annotations

from collections.abc import Iterable

from wtforms import FileField, RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import Length, NumberRange, Optional

from app.kernel.form_fields import House, Needed, QuantityField, options
from app.measuring.rules import Phase, say
from app.sound.models import Recording
from app.sound.rules import CLIPS_AT, Setting, SoundKind, volts_full_of

TONE_WORDS, SWEEP_WORDS = "Enter hertz from 20 to 20000.", "Enter seconds from 1 to 30."
VOLTS_WORDS = "Enter volts from 0.001 to 100."


class RecordingForm(House):
    """A recording of the load's voltage: what it is of, what its level rests on, and what was sent."""

    file = FileField("Recording (WAV)")
    kind = RadioField("What it is of", [Needed("Choose what it is of.")], coerce=SoundKind,
                      choices=options((one.value, one.words) for one in SoundKind))
    phase = RadioField("When", [Needed("Choose as found or as left.")], coerce=Phase,
                       choices=options((one.value, one.value) for one in Phase))
    channel = RadioField("Channel", coerce=int, choices=options([(1, "1, left"), (2, "2, right")]))
    condition = StringField("Conditions", [Optional(), Length(max=160)])
    load_ohm = QuantityField("Load, as measured", [Optional(), NumberRange(0.1, 1000, "Enter ohms from 0.1 to 1000.")], unit="Ω")
    ratio = QuantityField("Divider: volts at the load for one at the recorder",
                          [Optional(), NumberRange(1, 100000, "Enter a ratio from 1 to 100000.")], unit="")
    recorder_v = QuantityField("Recorder’s full scale, peak", [Optional(), NumberRange(0.001, 100, VOLTS_WORDS)], unit="V")
    known_v = QuantityField("Meter at the load while this tone was recorded",
                            [Optional(), NumberRange(0.0001, 1000, "Enter volts from 0.0001 to 1000.")], unit="V")
    level_of = SelectField("Same level setting as", coerce=int)
    mains_hz = QuantityField("Supply frequency", [Optional(), NumberRange(45, 65, "Enter 50 or 60.")], unit="Hz")
    tone_hz = QuantityField("Frequency of the tone", [Optional(), NumberRange(20, 20000, TONE_WORDS)], unit="Hz")
    clips_at = QuantityField("Clipping begins at", [Optional(), NumberRange(0.5, 50, "Enter per cent from 0.5 to 50.")], unit="")
    sweep_low = QuantityField("Sweep from", [Optional(), NumberRange(10, 10000, "Enter hertz from 10 to 10000.")], unit="Hz")
    sweep_high = QuantityField("Sweep to", [Optional(), NumberRange(100, 40000, "Enter hertz from 100 to 40000.")], unit="Hz")
    sweep_seconds = QuantityField("Sweep’s length", [Optional(), NumberRange(1, 30, SWEEP_WORDS)], unit="s")

    def offer(self, recordings: Iterable[Recording]) -> None:
        """Earlier recordings whose level is known, to take it from."""
        known = [one for one in recordings if one.volts_full and not one.struck_at]
        told = [(one.id, f"{one.words}: full scale is {say(one.volts_full, 'V', 3)}") for one in known]
        self.level_of.choices = options([(0, "none of them"), *told])

    def setting(self, earlier: Recording | None) -> tuple[Setting, str]:
        """What was entered, and in words what its level rests on. BadInput where two levels contradict each other."""
        volts, basis = volts_full_of(ratio=self.ratio.data, recorder_v=self.recorder_v.data), ""
        if volts is not None:
            basis = f"divider {self.ratio.data:g} to 1 into a recorder of {say(self.recorder_v.data, 'V')} peak"
        elif earlier is not None:
            volts, basis = earlier.volts_full, f"as the recording of {earlier.words}: {earlier.level_basis}"
        usual = Setting(self.kind.data)
        return Setting(self.kind.data, self.channel.data or 1, volts, self.load_ohm.data, self.mains_hz.data or usual.mains_hz,
                       self.tone_hz.data or usual.tone_hz, self.sweep_low.data or usual.sweep_low,
                       self.sweep_high.data or usual.sweep_high, self.sweep_seconds.data or usual.sweep_seconds,
                       self.clips_at.data or CLIPS_AT), basis


class StrikeForm(House):
    """Why a recording is struck out."""

    reason = TextAreaField("Why it is struck out", [Needed("Enter why it is struck out."), Length(max=400)])
