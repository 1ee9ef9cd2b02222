"""Rounds of bias readings as the rules take them, and what has come to speak against a reading since it was taken."""

from __future__ import annotations

from app.electrics import ElectricsError
from app.measuring import doubts
from app.measuring import queries as measuring
from app.measuring.models import Reading
from app.measuring.rules import State, Verdict
from app.measuring.tolerance import could_have_been
from app.powerup.hands import taken_back
from app.powerup.models import BiasRound, PowerUpEntry, PowerUpRun
from app.powerup.rules.drift import RISES, WATCH_MINUTES, drift, is_set_colder
from app.powerup.rules.output import One, OutputFound, Round, assess
from app.powerup.rules.soak import minutes


def unsure(reading: Reading) -> float | None:
    """The expanded uncertainty of a reading, in its unit: as taken, and what a calibration since found its instrument out by.

    A reading without limits of its own, such as a current, is put in doubt by no list: what is calculated from it must know.
    """
    if reading.uncertainty is None:
        return None
    found = doubts.errors_since(reading.instrument_id, reading.quantity, measuring.today(reading.at))
    wrong = [error for error in found if error.covers(reading.quantity, reading.value)]
    return reading.uncertainty + max((abs(value - reading.value) for error in wrong
                                      for value in could_have_been(reading.value, error)), default=0.0)


def why_doubted(reading: Reading) -> str:
    """Why a reading no longer proves what it did, in a sentence; empty while it does."""
    if reading.instrument.state is State.QUARANTINED:
        return f"{reading.instrument.name}, which it was read with, is quarantined."
    if any(one.reading_id == reading.id for one in doubts.holding(reading.order_id)):
        return f"{reading.instrument.name}, which it was read with, was found out of tolerance."
    return ""


def why_proves_nothing(reading: Reading) -> str:
    """Why a reading in its band is no go: its instrument was out of date when it was taken; empty if it was not."""
    return "" if reading.standing.counts else f"Its instrument was {reading.standing.value}: it proves nothing."


def ones_of(given: BiasRound) -> tuple[One, ...]:
    """The valves of a stored round."""
    return tuple(One(one.mark, one.current.value, unsure(one.current), one.screen.value if one.screen else None,
                     unsure(one.screen) if one.screen else None) for one in given.valves)


def readings_of(given: BiasRound) -> list[Reading]:
    """Every reading of a stored round."""
    every = [given.anode, given.screen, given.cathode, given.grid, *(one.current for one in given.valves),
             *(one.screen for one in given.valves)]
    return [one for one in every if one is not None]


def found_of(run: PowerUpRun, given: BiasRound) -> OutputFound | None:
    """What a stored round comes to, its target left out; None where the valve's figures no longer allow it."""
    cathode_u = unsure(given.cathode) if given.cathode else 0.0
    if cathode_u is None:
        return None
    try:
        return assess(Round(run.valve, ones_of(given), given.anode.value, unsure(given.anode),
                            given.screen.value if given.screen else None, given.cathode.value if given.cathode else 0.0,
                            given.grid.value if given.grid else None, (given.cold_end_v, given.hot_end_v), given.load_aa_ohm,
                            cathode_u), aim=False)
    except ElectricsError:
        return None


def verdict_of(run: PowerUpRun, entry: PowerUpEntry) -> tuple[Verdict, str]:
    """What a round came to; at step 7 a current must also have been watched for three minutes and not have risen."""
    assert entry.round is not None  # noqa: S101 - asked only of rounds
    found = found_of(run, entry.round)
    if found is None:
        return Verdict.NOT_JUDGED, "The figures of this valve do not allow a verdict."
    if found.verdict is not Verdict.PASS:
        return found.verdict, found.why
    if doubted := next((why for one in readings_of(entry.round) if (why := why_doubted(one))), ""):
        return Verdict.UNDECIDED, doubted
    return _watched(run, entry) if entry.step == 7 else (Verdict.PASS, "")


def _watched(run: PowerUpRun, entry: PowerUpEntry) -> tuple[Verdict, str]:
    early = next((one for one in _at_this_setting(run, entry) if minutes(one.at, entry.at) >= WATCH_MINUTES), None)
    if early is None or early.round is None or entry.round is None:
        return Verdict.UNDECIDED, (f"Read all valves again {WATCH_MINUTES} minutes after the first round at this setting: a "
                                   "current that keeps rising runs away.")
    moved = drift(ones_of(early.round), ones_of(entry.round), RISES, upwards=True)
    if moved.verdict is Verdict.PASS:
        return Verdict.PASS, ""
    gone = minutes(early.at, entry.at)
    return moved.verdict, f"{moved.mark} rose by {moved.share:.0%} in {gone:.0f} minutes. Switch off if it goes on."


def _at_this_setting(run: PowerUpRun, entry: PowerUpEntry) -> list[PowerUpEntry]:
    """The rounds of this step before this one that count with it, oldest first.

    None from before an abort, from before hands were in the amp, or from before the bias was set colder.
    """
    ends = [*(one.last_entry for one in run.aborts), *(one.last_entry for one in taken_back(run))]
    since = max((one for one in ends if one < entry.id), default=0)
    every = [one for one in run.entries if one.step == entry.step and one.round is not None and since < one.id <= entry.id]
    read = [_ones(one) for one in every]
    start = next((place for place in range(len(every) - 1, 0, -1) if is_set_colder(read[place - 1], read[place])), 0)
    return every[start:-1]


def _ones(entry: PowerUpEntry) -> tuple[One, ...]:
    assert entry.round is not None  # noqa: S101 - asked only of rounds
    return ones_of(entry.round)
