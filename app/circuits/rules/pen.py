"""What a drawing is made of: strokes and labels, and the few symbols of a valve amplifier, drawn by ourselves. Pure.

Resistors are boxes and capacitors two plates (IEC 60617's forms); coordinates grow to the right and down.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Stroke:
    """A line of the drawing as an SVG path. kind: "line", "rail" (heavier), "solid" (filled)."""

    d: str
    kind: str = "line"


@dataclass(frozen=True)
class Label:
    """Words on the drawing. kind: "name", "value" or "volt"; anchor: "start", "middle", "end"."""

    x: float
    y: float
    text: str
    kind: str = "value"
    anchor: str = "start"


@dataclass(frozen=True)
class Picture:
    """A drawing of so many units; said: the same for those who do not see it."""

    width: float
    height: float
    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...]
    said: str = ""


@dataclass
class Pen:
    """Gathers strokes and labels."""

    strokes: list[Stroke] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)

    def line(self, *at: tuple[float, float], kind: str = "line") -> None:
        """A line through points."""
        (x, y), *rest = at
        self.strokes.append(Stroke(f"M{x:g} {y:g}" + "".join(f"L{a:g} {b:g}" for a, b in rest), kind))

    def say(self, x: float, y: float, text: str, kind: str = "value", anchor: str = "start") -> None:
        """A label, if there is anything to say."""
        if text:
            self.labels.append(Label(x, y, text, kind, anchor))

    def dot(self, x: float, y: float) -> None:
        """Where lines are joined."""
        self.strokes.append(Stroke(f"M{x - 3:g} {y:g}a3 3 0 1 0 6 0a3 3 0 1 0 -6 0Z", "solid"))

    def resistor(self, x: float, top: float, bottom: float, said: str = "", *, left: bool = False) -> None:
        """An upright resistor between two heights, its value beside it."""
        middle = (top + bottom) / 2
        self.line((x, top), (x, middle - 14))
        self.strokes.append(Stroke(f"M{x - 6:g} {middle - 14:g}h12v28h-12Z"))
        self.line((x, middle + 14), (x, bottom))
        self.say(x - 10 if left else x + 10, middle + 4, said, anchor="end" if left else "start")

    def across(self, left: float, right: float, y: float, said: str = "") -> None:
        """A resistor that lies between two places, its value above it."""
        middle = (left + right) / 2
        self.line((left, y), (middle - 14, y))
        self.strokes.append(Stroke(f"M{middle - 14:g} {y - 6:g}h28v12h-28Z"))
        self.line((middle + 14, y), (right, y))
        self.say(middle, y - 10, said, anchor="middle")

    def capacitor(self, x: float, top: float, bottom: float, said: str = "", *, left: bool = False) -> None:
        """An upright capacitor."""
        middle = (top + bottom) / 2
        self.line((x, top), (x, middle - 3))
        self.line((x - 9, middle - 3), (x + 9, middle - 3))
        self.line((x - 9, middle + 3), (x + 9, middle + 3))
        self.line((x, middle + 3), (x, bottom))
        self.say(x - 13 if left else x + 13, middle + 4, said, anchor="end" if left else "start")

    def coupling(self, left: float, right: float, y: float, said: str = "") -> None:
        """A capacitor that lies between two places."""
        middle = (left + right) / 2
        self.line((left, y), (middle - 3, y))
        self.line((middle - 3, y - 9), (middle - 3, y + 9))
        self.line((middle + 3, y - 9), (middle + 3, y + 9))
        self.line((middle + 3, y), (right, y))
        self.say(middle, y - 13, said, anchor="middle")

    def coil(self, x: float, top: float, bottom: float, said: str = "", *, left: bool = False) -> None:
        """An upright winding of four turns."""
        turn = (bottom - top - 12) / 4
        arcs = "".join(f"a{turn / 2:g} {turn / 2:g} 0 0 1 0 {turn:g}" for _ in range(4))
        self.strokes.append(Stroke(f"M{x:g} {top:g}v6{arcs}v6"))
        self.say(x - 10 if left else x + turn / 2 + 8, (top + bottom) / 2 + 4, said, anchor="end" if left else "start")

    def diode(self, left: float, right: float, y: float) -> None:
        """A rectifier, its point to the right."""
        middle = (left + right) / 2
        self.line((left, y), (middle - 7, y))
        self.strokes.append(Stroke(f"M{middle - 7:g} {y - 8:g}L{middle + 7:g} {y:g}L{middle - 7:g} {y + 8:g}Z", "solid"))
        self.line((middle + 7, y - 8), (middle + 7, y + 8))
        self.line((middle + 7, y), (right, y))

    def chassis(self, x: float, y: float) -> None:
        """The reference."""
        self.line((x, y), (x, y + 6))
        for half, down in ((9, 6), (6, 10), (3, 14)):
            self.line((x - half, y + down), (x + half, y + down))

    def valve(self, x: float, y: float, *, screen: bool = False) -> None:
        """A valve: anode above at y - 24, grid at the left x - 24, cathode below at y + 24; a screen at the right."""
        self.strokes.append(Stroke(f"M{x - 22:g} {y:g}a22 22 0 1 0 44 0a22 22 0 1 0 -44 0Z"))
        self.line((x, y - 24), (x, y - 10))
        self.line((x - 11, y - 10), (x + 11, y - 10))
        self.strokes.append(Stroke(f"M{x - 24:g} {y + 2:g}h8m4 0h5m4 0h5m4 0h5"))
        if screen:
            self.strokes.append(Stroke(f"M{x - 8:g} {y - 4:g}h5m4 0h5m4 0h14"))
        self.strokes.append(Stroke(f"M{x - 10:g} {y + 14:g}v-3h20v3M{x:g} {y + 11:g}V{y + 24:g}"))

    def made(self, width: float, height: float, said: str = "") -> Picture:
        """The drawing as a value."""
        return Picture(width, height, tuple(self.strokes), tuple(self.labels), said)
