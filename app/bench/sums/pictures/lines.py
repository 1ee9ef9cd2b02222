"""Valve curves with a load line and the operating point, and a resistor's derating."""

from __future__ import annotations

from app.bench.sums.pictures.drawing import Anchor, Dot, Frame, Item, Line, Picture, Word, nice_step, path
from app.electrics import CompositeLine, PushPull, Stage, Valve, show
from app.electrics.arrays import np
from app.electrics.valves.koren import pentode_anode, triode_anode


def triode_line(entry: Valve, stage: Stage, *, supply_v: float, anode_ohm: float, cathode_ohm: float) -> Picture:
    """A triode's anode curves, the load line of a stage, the cathode line, and where they meet."""
    most = supply_v / (anode_ohm + cathode_ohm)
    frame = Frame((0.0, supply_v * 1.04), (0.0, most * 1.12), "V", "A")
    across = np.linspace(0.0, supply_v * 1.04, 101)
    model = entry.triode()
    items: list[Item] = [*frame.axes()]
    step = nice_step(max(2.0 * stage.cathode_v, 1.0), 4)
    for number in range(7):
        current = triode_anode(model, across, -number * step)
        items += _curve(frame, across.tolist(), current.tolist(), f"{-number * step:g} V" if number else "0 V", items)
    if stage.share_of_max is not None:
        items += _hyperbola(frame, entry.anode_limit_w())
    share = stage.share_of_max
    allowed = "no limit known here" if share is None else f"{share * 100:.0f} % of the dissipation the sheet allows"
    items += [Line(path([(frame.px(supply_v), frame.py(0.0)), (frame.px(0.0), frame.py(most))]), "main")]
    at = stage.anode_v - stage.cathode_v
    items += [Dot(frame.px(at), frame.py(stage.anode_a), "mark", 7.0)]
    items += _point_word(frame, at, stage.anode_a)
    alt = (f"Anode curves of the {entry.name} with a straight load line from {show(supply_v, 'V')} on the floor to "
           f"{show(most, 'A')} on the left. The stage rests on it at {show(at, 'V')} across the valve and "
           f"{show(stage.anode_a, 'A')}, {allowed}.")
    return Picture("Load line, anode to cathode", alt, 284.0, tuple(items))


def push_pull_line(entry: Valve, line: CompositeLine, found: PushPull, *, supply_v: float, screen_v: float,
                   bias_v: float) -> Picture:
    """Output valve curves with the path one valve travels in class AB, and its rest point."""
    top = max(found.peak_anode_a * 1.15, entry.anode_limit_w() / supply_v * 1.3)
    wide = supply_v * 2.0
    frame = Frame((0.0, wide), (0.0, top), "V", "A")
    across = np.linspace(0.0, wide, 121)
    model = entry.pentode()
    items: list[Item] = [*frame.axes(x_about=5)]
    step = nice_step(-bias_v * 1.4, 6)
    for number in range(8):
        if number * step <= -bias_v * 1.6:
            current = pentode_anode(model, across, screen_v, -number * step)
            items += _curve(frame, across.tolist(), current.tolist(), f"{-number * step:g} V" if number else "0 V", items)
    items += _hyperbola(frame, entry.anode_limit_w())
    items += frame.curve(line.anode_v.tolist(), line.anode_a.tolist(), "main")
    items += [Dot(frame.px(supply_v), frame.py(found.idle_anode_a), "mark", 7.0)]
    items += _point_word(frame, supply_v, found.idle_anode_a)
    alt = (f"Curves of the {entry.name} at {show(screen_v, 'V')} on the screen. One valve rests at {show(supply_v, 'V')} and "
           f"{show(found.idle_anode_a, 'A')}, and travels up to {show(found.peak_anode_a, 'A')} at "
           f"{show(found.least_anode_v, 'V')} on its half of the signal; "
           f"the dashed line is the sheet's {entry.anode_limit_w():g} W.")
    return Picture("The path of one valve", alt, 284.0, tuple(items))


def derating(*, watt: float, rated: float, allowed: float, ambient_c: float, from_c: float, zero_c: float) -> Picture:
    """What a resistor may bear over the temperature round it, and what it has to bear here."""
    hot = max(zero_c, ambient_c) * 1.06 + 5
    frame = Frame((min(0.0, ambient_c), hot), (0.0, max(rated, watt) * 1.15), "°C", "W")
    items: list[Item] = [*frame.axes()]
    falling = [(frame.left, frame.py(rated)), (frame.px(from_c), frame.py(rated)), (frame.px(zero_c), frame.py(0.0))]
    items += [Line(path(falling), "main"),
              frame.upright(ambient_c, "other"), Dot(frame.px(ambient_c), frame.py(watt), "mark", 7.0)]
    side: Anchor = "end" if frame.px(ambient_c) > 330 else "start"
    items += [Word(frame.px(ambient_c) + (12 if side == "start" else -12), frame.py(watt) + (-10 if watt < rated * 0.9 else 24),
                   f"{show(watt, 'W')} here", "mark", side)]
    alt = (f"The rating holds at {show(rated, 'W')} to {from_c:g} °C and falls to nothing at {zero_c:g} °C; "
           f"at {ambient_c:g} °C it allows {show(allowed, 'W')}, and {show(watt, 'W')} are dissipated.")
    return Picture("What it may bear", alt, 284.0, tuple(items))


def _curve(frame: Frame, xs: list[float], ys: list[float], word: str, drawn_before: list[Item]) -> list[Item]:
    """One curve with its grid volts where it leaves the field, if there is room for the word."""
    drawn = frame.curve(xs, ys, "curve")
    inside = [(x, y) for x, y in zip(xs, ys, strict=True) if y <= frame.y[1]]
    if not drawn or len(inside) < 3:
        return drawn
    x, y = inside[-1]
    if x >= xs[-1]:  # it runs out on the right
        if y < 0.1 * frame.y[1]:
            return drawn
        name = Word(frame.right - 2, frame.py(y) - 5, word, "soft", "end")
    else:
        name = Word(frame.px(x) + 3, frame.top + 14, word, "soft")
    taken = any(isinstance(one, Word) and one.anchor == name.anchor and abs(one.x - name.x) < 40 and abs(one.y - name.y) < 22
                for one in drawn_before)
    return drawn if taken else [*drawn, name]


def _hyperbola(frame: Frame, watt: float) -> list[Item]:
    """The sheet's dissipation: volts times amperes."""
    low = max(watt / frame.y[1], frame.x[1] * 0.02)
    if low >= frame.x[1]:
        return []
    volts = np.geomspace(low, frame.x[1], 60)
    drawn = frame.curve(volts.tolist(), (watt / volts).tolist(), "limit")
    return drawn if low < 0.8 * frame.x[1] else []


def _point_word(frame: Frame, x: float, y: float) -> list[Item]:
    text = f"{show(x, 'V')}, {show(y, 'A')}"
    side: Anchor = "end" if frame.px(x) > 300 else "start"
    return [Word(frame.px(x) + (12 if side == "start" else -12), frame.py(y) + (26 if side == "end" else -14), text, "mark", side)]
