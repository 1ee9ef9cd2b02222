"""Values on one scale: a range with its whiskers and limits, a share of a maximum, and a spread."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.bench.sums.pictures.drawing import LETTER, WIDE, Box, Dot, Frame, Item, Line, Picture, Word, path, ticks
from app.electrics import BiasRange, Spread, show
from app.electrics.arrays import np


@dataclass(frozen=True)
class Flag:
    """A value to mark on a scale, with its word."""

    value: float
    word: str
    ink: str = "mark"


def bias_scale(found: BiasRange, limits: Sequence[Flag]) -> Picture:
    """The pot's range with its worst case, the lifted wiper and, given a valve, where it gets too hot."""
    marks = [found.hottest_worst_v, found.coldest_worst_v, found.wiper_open_v, 0.0, *(flag.value for flag in limits)]
    low, high = min(marks), max(marks)
    room = 0.08 * (high - low)
    frame = Frame((low - room, high + room * 0.5), (0.0, 1.0), "V", "", left=20.0, right=460.0, bottom=178.0)
    middle, half = 118.0, 17.0
    items: list[Item] = [Line(path([(frame.left, frame.bottom), (frame.right, frame.bottom)]), "axis")]
    for value in ticks(*frame.x, 5):
        items += [Line(path([(frame.px(value), frame.bottom), (frame.px(value), frame.bottom + 6)]), "axis"),
                  Word(frame.px(value), frame.bottom + 25, show(value, "V"), "soft", "middle")]
    left, right = frame.px(found.coldest_v), frame.px(found.hottest_v)
    for end, worst in ((left, frame.px(found.coldest_worst_v)), (right, frame.px(found.hottest_worst_v))):
        items += [Line(path([(end, middle), (worst, middle)]), "whisker"),
                  Line(path([(worst, middle - 9), (worst, middle + 9)]), "whisker")]
    items += [Box(left, middle - half, max(right - left, 2.0), half * 2, "band"), Word(left, middle - half - 7, "cold", "soft"),
              Word(right, middle - half - 7, "hot", "soft", "end")]
    flags = sorted([*limits, Flag(found.wiper_open_v, "wiper lifted", "fail" if found.lifted_wiper_hotter else "mark")],
                   key=lambda flag: flag.value)
    items += _flags(frame, flags)
    told = "; ".join(f"{flag.word} {show(flag.value, 'V')}" for flag in flags)
    alt = (f"A scale of grid voltage: the pot sets {show(found.coldest_v, 'V')} to {show(found.hottest_v, 'V')}, over tolerance "
           f"{show(found.coldest_worst_v, 'V')} to {show(found.hottest_worst_v, 'V')}. Marked: {told}.")
    return Picture("Where the pot can put the grids", alt, 212.0, tuple(items))


def _flags(frame: Frame, flags: Sequence[Flag]) -> list[Item]:
    """Each flag's word beside its line, on a row of its own where it would run into a neighbour's word or line."""
    lines: list[Item] = []
    words: list[Item] = []
    placed: list[tuple[float, float, int]] = []  # from, to, row
    for flag in sorted(flags, key=lambda one: one.value):
        x, wide = frame.px(flag.value), len(flag.word) * LETTER
        start = x - 4 if x + 4 + wide <= WIDE else x + 4 - wide
        row = max((taken + 1 for low, high, taken in placed if low < x < high), default=0)
        while any(taken == row and low - 10 < start + wide and start < high + 10 for low, high, taken in placed):
            row += 1
        placed.append((start, start + wide, row))
        y = 18.0 + 21.0 * row
        lines.append(Line(path([(x, y + 6), (x, frame.bottom)]), flag.ink))
        words.append(Word(start, y, flag.word, flag.ink))
    return [*lines, *words]


def share(title: str, *, value: float, limit: float, unit: str, named: str, target: float | None = None) -> Picture:
    """How much of a limit is used, with the usual target where there is one."""
    frame = Frame((0.0, max(value, limit) * 1.12), (0.0, 1.0), unit, "", left=20.0, right=460.0, bottom=112.0)
    over = value > limit
    items: list[Item] = [Box(frame.left, 62.0, frame.px(value) - frame.left, 34.0, "over" if over else "fill"),
                         Line(path([(frame.left, frame.bottom), (frame.right, frame.bottom)]), "axis")]
    for mark in ticks(*frame.x, 5):
        items += [Line(path([(frame.px(mark), frame.bottom), (frame.px(mark), frame.bottom + 6)]), "axis"),
                  Word(frame.px(mark), frame.bottom + 25, show(mark, unit), "soft", "middle")]
    items += [Line(path([(frame.px(limit), 28), (frame.px(limit), frame.bottom)]), "limit"),
              Word(min(frame.px(limit) + 4, 470.0), 20, f"{named} {show(limit, unit)}", "limit",
                   "end" if frame.px(limit) > 240 else "start")]
    if target is not None:
        items += [Line(path([(frame.px(target), 52), (frame.px(target), frame.bottom)]), "other"),
                  Word(frame.px(target), 46, "usual", "soft", "end")]
    alt = f"A bar of {show(value, unit)} against the {named} of {show(limit, unit)}: {value / limit * 100:.0f} %."
    return Picture(title, alt, 146.0, tuple(items))


def limits(title: str, value: float, flags: Sequence[Flag], unit: str) -> Picture:
    """A reading among limits that are drawn at different places; equal limits share one flag."""
    together: dict[float, list[str]] = {}
    for flag in flags:
        together.setdefault(round(flag.value, 6), []).append(flag.word)
    told = [Flag(at, f"{words[0]} and {len(words) - 1} more" if len(words) > 1 else words[0], "limit")
            for at, words in sorted(together.items())]
    frame = Frame((0.0, max([value, *together]) * 1.15), (0.0, 1.0), unit, "", left=20.0, right=460.0, bottom=172.0)
    items: list[Item] = [Box(frame.left, 126.0, frame.px(value) - frame.left, 30.0, "fill"),
                         Line(path([(frame.left, frame.bottom), (frame.right, frame.bottom)]), "axis")]
    for mark in ticks(*frame.x, 5):
        items += [Line(path([(frame.px(mark), frame.bottom), (frame.px(mark), frame.bottom + 6)]), "axis"),
                  Word(frame.px(mark), frame.bottom + 25, show(mark, unit), "soft", "middle")]
    items += _flags(frame, told)
    listed = "; ".join(f"{flag.word} {show(flag.value, unit)}" for flag in told)
    alt = f"A bar of {show(value, unit)} among the limits: {listed}."
    return Picture(title, alt, 206.0, tuple(items))


def spread(title: str, found: Spread, unit: str, what: str) -> Picture:
    """How often each value comes up when the parts wander, from the seeded draw."""
    span = found.high - found.low
    if span <= 1e-9 * max(abs(found.low), abs(found.high)):  # all one value, but for its last places
        span = abs(found.nominal) * 0.01 or 1.0
    alone = span > found.high - found.low
    within = (found.nominal - span / 2, found.nominal + span / 2) if alone else (found.low, found.high)
    counts, edges = np.histogram(found.samples, bins=28, range=within)
    frame = Frame((within[0] - 0.03 * span, within[1] + 0.03 * span), (0.0, float(counts.max()) * 1.12), unit, "", left=20.0,
                  right=460.0, bottom=170.0)
    items: list[Item] = []
    for number, low, high in zip(counts, edges[:-1], edges[1:], strict=True):
        inside = found.p05 <= (low + high) / 2 <= found.p95
        left, top, wide = frame.px(float(low)), frame.py(float(number)), frame.px(float(high)) - frame.px(float(low))
        items.append(Box(left, top, max(wide - 1.0, 0.5), frame.bottom - top, "fill" if inside else "pale"))
    items.append(Line(path([(frame.left, frame.bottom), (frame.right, frame.bottom)]), "axis"))
    for value in ticks(*frame.x, 4):
        items += [Line(path([(frame.px(value), frame.bottom), (frame.px(value), frame.bottom + 6)]), "axis"),
                  Word(frame.px(value), frame.bottom + 25, show(value, unit, digits=4), "soft", "middle")]
    items += [frame.upright(found.nominal, "mark"), Dot(frame.px(found.nominal), frame.top, "mark", 4.0)]
    alt = (f"Of {len(found.samples)} drawn sets of parts, nine in ten put {what} between {show(found.p05, unit)} and "
           f"{show(found.p95, unit)}; the least is {show(found.low, unit)}, the most {show(found.high, unit)}.")
    return Picture(title, alt, 206.0, tuple(items))
