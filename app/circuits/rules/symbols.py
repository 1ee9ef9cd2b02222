"""A small drawing of each kind of block, with the names of its values where they stand. Pure."""

from __future__ import annotations

from collections.abc import Callable

from app.circuits.rules.blocks import PENTODE, Kind
from app.circuits.rules.pen import Pen, Picture

WIDTH, HEIGHT = 320, 230


def symbols_of(kind: Kind, arrangement: str = "") -> tuple[Picture, ...]:
    """The drawing beside a block's values; of a preamp stage that is not arranged yet the triode's and the pentode's."""
    if kind is not Kind.STAGE:
        return (_drawn(DRAWS[kind], f"A {kind.value}"),)
    triode, pentode = _drawn(_stage, "A preamp stage with a triode"), _drawn(_pentode, "A preamp stage with a pentode")
    if not arrangement:
        return triode, pentode
    return (pentode,) if arrangement == PENTODE else (triode,)


def _drawn(draw: Callable[[Pen], None], what: str) -> Picture:
    pen = Pen()
    draw(pen)
    return pen.made(WIDTH, HEIGHT, f"{what}, drawn with the names of its values.")


def _mains(pen: Pen) -> None:
    pen.line((30, 60), (130, 60))
    pen.line((30, 170), (130, 170))
    pen.coil(130, 60, 170, "primary")
    pen.say(30, 118, "tap volts")
    pen.say(30, 138, "at so many hertz")


def _winding(pen: Pen) -> None:
    pen.coil(120, 50, 115, "volts, ohms")
    pen.coil(120, 115, 180, "the other half, if tapped")
    pen.dot(120, 115)
    pen.line((70, 115), (120, 115))
    pen.chassis(70, 115)


def _rectifier(pen: Pen) -> None:
    pen.coil(60, 50, 115)
    pen.coil(60, 115, 180)
    pen.line((60, 115), (30, 115))
    pen.chassis(30, 115)
    pen.across(60, 130, 50, "limiting")
    pen.across(60, 130, 180)
    pen.diode(130, 200, 50)
    pen.diode(130, 200, 180)
    pen.line((200, 50), (200, 180))
    pen.line((200, 115), (270, 115), kind="rail")
    pen.say(275, 119, "HT")


def _reservoir(pen: Pen) -> None:
    pen.line((40, 60), (280, 60), kind="rail")
    pen.dot(150, 60)
    pen.capacitor(150, 60, 160, "capacitor")
    pen.chassis(150, 160)
    pen.say(40, 45, "from the rectifier")


def _dropper(pen: Pen) -> None:
    pen.across(40, 180, 60, "resistor")
    pen.line((180, 60), (280, 60), kind="rail")
    pen.dot(200, 60)
    pen.capacitor(200, 60, 160, "capacitor")
    pen.chassis(200, 160)
    pen.say(40, 90, "fed by")


def _choke(pen: Pen) -> None:
    pen.coil(80, 50, 120, "henries, ohms DC")
    pen.line((80, 120), (80, 140), (280, 140), kind="rail")
    pen.dot(230, 140)
    pen.capacitor(230, 140, 190)
    pen.chassis(230, 190)
    pen.say(40, 40, "fed by")


def _rail(pen: Pen) -> None:
    pen.line((60, 100), (280, 100), kind="rail")
    pen.say(60, 84, "volts DC, printed or read")


def _bias(pen: Pen) -> None:
    pen.coil(24, 60, 130)
    pen.chassis(24, 130)
    pen.across(24, 100, 60, "before")
    pen.diode(160, 100, 60)
    pen.line((160, 60), (230, 60))
    pen.capacitor(165, 60, 130, "reservoir")
    pen.chassis(165, 130)
    pen.resistor(245, 60, 120, "range")
    pen.line((230, 60), (245, 60))
    pen.resistor(245, 130, 190, "pot")
    pen.line((245, 120), (245, 130))
    pen.dot(245, 125)
    pen.line((245, 125), (290, 125))
    pen.say(292, 118, "feed", anchor="end")
    pen.chassis(245, 190)


def _stage(pen: Pen) -> None:
    pen.line((90, 20), (280, 20), kind="rail")
    pen.resistor(170, 20, 80, "anode")
    pen.valve(170, 104)
    pen.line((170, 128), (170, 140))
    pen.resistor(170, 140, 196, "cathode")
    pen.capacitor(245, 140, 196)
    pen.line((170, 140), (245, 140))
    pen.chassis(170, 196)
    pen.chassis(245, 196)
    pen.coupling(20, 90, 106, "coupling")
    pen.line((90, 106), (146, 106))
    pen.resistor(110, 106, 170, "leak", left=True)
    pen.chassis(110, 170)


def _pentode(pen: Pen) -> None:
    pen.line((60, 16), (300, 16), kind="rail")
    pen.resistor(140, 16, 76, "anode")
    pen.valve(140, 100, screen=True)
    pen.resistor(262, 16, 76, "dropper", left=True)
    pen.line((164, 96), (262, 96), (262, 76))
    pen.dot(262, 96)
    pen.capacitor(262, 96, 150, "screen", left=True)
    pen.chassis(262, 150)
    pen.line((140, 124), (140, 136))
    pen.resistor(140, 136, 196, "cathode")
    pen.line((140, 136), (220, 136))
    pen.capacitor(220, 136, 196)
    pen.chassis(140, 196)
    pen.chassis(220, 196)
    pen.coupling(10, 70, 102, "coupling")
    pen.line((70, 102), (116, 102))
    pen.resistor(90, 102, 166, "leak", left=True)
    pen.chassis(90, 166)


def _splitter(pen: Pen) -> None:
    pen.line((40, 16), (300, 16), kind="rail")
    for x, said in ((110, "anode"), (240, "second")):
        pen.resistor(x, 16, 66, said)
        pen.valve(x, 90)
        pen.line((x, 114), (x, 124), (175, 124))
    pen.resistor(175, 124, 164, "bias")
    pen.resistor(175, 168, 208, "tail")
    pen.line((175, 164), (175, 168))
    pen.chassis(175, 208)
    pen.coupling(10, 70, 92, "")
    pen.line((70, 92), (86, 92))


def _output(pen: Pen) -> None:
    for x, said in ((90, "half primary"), (230, "other half")):
        pen.coil(x, 16, 66, said)
        pen.valve(x, 90, screen=True)
        pen.line((x + 24, 86), (x + 34, 86))
        pen.resistor(x + 34, 86, 130, "screen")
        pen.resistor(x - 40, 92, 150, "leak", left=x < 100)
        pen.line((x - 40, 92), (x - 24, 92))
        pen.resistor(x, 130, 180)
        pen.line((x, 114), (x, 130))
        pen.chassis(x, 180)
    pen.line((90, 16), (230, 16), kind="rail")
    pen.line((50, 150), (50, 205), (190, 205), (190, 150))
    pen.say(120, 220, "bias", anchor="middle")


def _feedback(pen: Pen) -> None:
    pen.coil(270, 60, 150, "")
    pen.say(262, 50, "output", anchor="middle")
    pen.chassis(270, 150)
    pen.line((270, 60), (220, 60))
    pen.across(90, 220, 60, "series")
    pen.dot(90, 60)
    pen.resistor(90, 60, 140, "to chassis")
    pen.chassis(90, 140)
    pen.line((90, 60), (40, 60))
    pen.say(20, 48, "into the stage")


def _heaters(pen: Pen) -> None:
    pen.coil(60, 50, 150, "volts")
    pen.line((60, 50), (230, 50))
    pen.line((60, 150), (230, 150))
    pen.resistor(180, 50, 100)
    pen.resistor(180, 100, 150, "reference")
    pen.dot(180, 100)
    pen.line((180, 100), (240, 100))
    pen.chassis(240, 100)


DRAWS = {Kind.MAINS: _mains, Kind.WINDING: _winding, Kind.RECTIFIER: _rectifier, Kind.RESERVOIR: _reservoir, Kind.DROPPER: _dropper,
         Kind.CHOKE: _choke, Kind.RAIL: _rail, Kind.BIAS: _bias, Kind.STAGE: _stage, Kind.SPLITTER: _splitter, Kind.OUTPUT: _output,
         Kind.FEEDBACK: _feedback, Kind.HEATERS: _heaters}
