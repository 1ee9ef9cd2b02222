"""The drawing of the whole, computed: power at the left, rails above, the signal from left to right, volts at the nodes. Pure."""

from __future__ import annotations

from app.circuits.rules.blocks import CATHODE, DIRECTLY, FOLLOWER, LONG_TAIL, PENTODE, Block, Kind, Sheet, field_of
from app.circuits.rules.changes import said
from app.circuits.rules.pen import Pen, Picture
from app.circuits.rules.stages import valves_of
from app.circuits.rules.wiring import in_chain, in_signal_order
from app.circuits.rules.work import Worked
from app.measuring.rules import say

LEFT, FIRST, RAIL_Y, RAIL_PITCH = 20, 470, 50, 54
SCREEN = 84  # from a preamp pentode to what its screen hangs on
SIDE = 180  # from one side of an output stage to the other
STAGE_WIDE, PENTODE_WIDE, PAIR_WIDE = 190, 270, 340
_ROOM = {Kind.STAGE: STAGE_WIDE, Kind.SPLITTER: PAIR_WIDE, Kind.OUTPUT: PAIR_WIDE + 60}


def drawn(sheet: Sheet, worked: Worked) -> Picture:
    """The whole sheet with what every node should read at the mains as measured; a question mark where that is not known."""
    return _Drawing(sheet, worked).picture()


class _Drawing:
    """One drawing while it is made: where each rail and stage lies."""

    def __init__(self, sheet: Sheet, worked: Worked) -> None:
        self.sheet, self.worked, self.pen = sheet, worked, Pen()
        self.rails = in_chain(sheet)
        self.rail_y = {one.name: RAIL_Y + RAIL_PITCH * place for place, one in enumerate(self.rails)}
        self.under = RAIL_Y + RAIL_PITCH * len(self.rails) + 16
        self.stage_x: dict[str, float] = {}
        at = float(FIRST)
        for one in in_signal_order(sheet):
            self.stage_x[one.name] = at
            at += PENTODE_WIDE if one.word("arrangement") == PENTODE else _ROOM[one.kind]
        self.width, self.height = max(at + 30, 760), self.under + 380

    def volts(self, node: str) -> str:
        """What a node should read, or a question mark."""
        found = self.worked.of(node)
        return say(found.now.value, "V", 3) if found else "? V"

    def value(self, block: Block, name: str) -> str:
        """A value of a block with where it sits; a question mark where it is not entered."""
        given, spec = block.of(name), field_of(block.kind, name)
        text = said(spec, given) or ("?" if spec.needed and block.asks(spec) else "")
        return f"{given.reference} {text}".strip() if text else ""

    def picture(self) -> Picture:
        """Everything, from left to right."""
        self._power()
        for rail in self.rails:
            self._rail(rail)
        for one in in_signal_order(self.sheet):
            {Kind.STAGE: self._stage, Kind.SPLITTER: self._splitter, Kind.OUTPUT: self._output}[one.kind](one)
        self._bottom()
        told = (f"{len(self.sheet.blocks)} blocks; the volts of {len(self.worked.expected)} nodes are calculated. "
                "The readings page lists them all in words.")
        return self.pen.made(self.width, self.height, told)

    def _power(self) -> None:
        """Mains, windings and rectifiers, one under another at the left."""
        y = RAIL_Y
        for mains in self.sheet.of_kind(Kind.MAINS):
            self.pen.say(LEFT, y - 26, f"{mains.name} {self.value(mains, 'tap_v')}", "name")
        for rectifier in self.sheet.of_kind(Kind.RECTIFIER):
            winding = self.sheet.block(rectifier.word("fed_by"))
            top = next((self.rail_y[one.name] for one in self.rails if one.word("fed_by") == rectifier.name), y)
            self.pen.coil(LEFT + 10, top + 8, top + 78)
            if winding:
                self.pen.say(LEFT, top + 96, winding.name, "name")
                self.pen.say(LEFT, top + 113, f"{self.value(winding, 'volt')}, {self.value(winding, 'ohm')}")
            self.pen.line((LEFT + 10, top + 8), (LEFT + 10, top), (LEFT + 30, top))
            self.pen.diode(LEFT + 30, LEFT + 70, top)
            self.pen.say(LEFT + 36, top + 26, rectifier.word("drop"))
            self.pen.line((LEFT + 70, top), (LEFT + 150, top), kind="rail")

    def _rail(self, rail: Block) -> None:
        y = self.rail_y[rail.name]
        starts = LEFT + 150
        above = self.rail_y.get(rail.word("fed_by"))
        if above is not None and rail.kind is not Kind.RAIL:
            x = starts + 12 * (self.rails.index(rail) % 4)
            self.pen.dot(x, above)
            if rail.kind is Kind.CHOKE:
                self.pen.coil(x, above, y)
            else:
                self.pen.resistor(x, above, y)
            starts = x
        ends = max([self.width - 30, starts + 100])
        self.pen.line((starts, y), (ends, y), kind="rail")
        feed = self.value(rail, "ohm") if rail.kind in (Kind.DROPPER, Kind.CHOKE) else ""
        held = self.value(rail, "farad") if rail.kind is not Kind.RAIL else ""
        self.pen.say(LEFT + 222, y - 7, f"{rail.name}  {self.volts(rail.name)}", "volt")
        self.pen.say(LEFT + 222, y + 15, ", ".join(one for one in (feed, held) if one))

    def _hang(self, rail: str, x: float, top: float) -> None:
        """A feed from a rail down to a height."""
        if rail in self.rail_y:
            self.pen.dot(x, self.rail_y[rail])
            self.pen.line((x, self.rail_y[rail]), (x, top))
        else:
            self.pen.say(x + 4, top - 4, "fed by ?")

    def _input(self, block: Block, grid_x: float, y: float, x: float, *, leak: bool = True) -> None:
        """The grid's coupling and leak, from the stage before."""
        before = block.word("signal_from")
        if block.word("coupling") == DIRECTLY:
            self.pen.line((x, y), (grid_x, y))
        else:
            self.pen.coupling(x, x + 36, y, self.value(block, "coupling_farad"))
            self.pen.line((x + 36, y), (grid_x, y))
            if leak:
                self.pen.resistor(x + 50, y, y + 66, "")
                self.pen.say(x + 40, y + 50, self.value(block, "grid_ohm"), anchor="end")
                self.pen.chassis(x + 50, y + 66)
        out = self._out_of(before)
        if out and self._beside(before, block.name):
            self.pen.line(out, (x, out[1]), (x, y))
        elif before:  # a wire across the stages between would seem joined to them
            self.pen.say(x, y + 22, f"from {before}")

    def _beside(self, before: str, name: str) -> bool:
        """Whether a stage stands next to the one that it drives."""
        order = list(self.stage_x)
        return order.index(name) - order.index(before) == 1

    def _out_of(self, name: str) -> tuple[float, float] | None:
        """Where the signal of a stage leaves it."""
        block = self.sheet.block(name)
        if block is None or name not in self.stage_x:
            return None
        x = self.stage_x[name] + 110
        if block.kind is Kind.STAGE and block.word("arrangement") == FOLLOWER:
            return x, self.under + 152
        return x, self.under + 74

    def _stage(self, block: Block) -> None:
        x, top = self.stage_x[block.name] + 100, self.under
        pentode = block.word("arrangement") == PENTODE
        self._hang(block.word("fed_by"), x, top)
        if block.word("arrangement") != FOLLOWER:
            self.pen.resistor(x, top, top + 74, self.value(block, "anode_ohm"))
            self.pen.dot(x, top + 74)
            self.pen.line((x, top + 74), (x + 10, top + 74))
            self.pen.say(x + 12, top + 70, self.volts(f"{block.name} anode"), "volt")
        else:
            self.pen.line((x, top), (x, top + 74))
        self._valve(block.name, block.word("valve"), x, top + 104, screen=pentode)
        if pentode:
            self._screen(block, x, top)
        self._input(block, x - 24, top + 106, self.stage_x[block.name] + 10)
        self._cathode(block, x, top + 128, f"{block.shares or block.name} cathode")

    def _screen(self, block: Block, x: float, top: float) -> None:
        """A preamp pentode's screen: its dropper from the rail, its capacitor to chassis."""
        at = x + SCREEN
        self._hang(block.word("fed_by"), at, top)
        self.pen.resistor(at, top, top + 74, self.value(block, "screen_ohm"))
        self.pen.line((x + 24, top + 100), (at, top + 100), (at, top + 74))
        self.pen.say(at + 10, top + 104, self.volts(f"{block.name} screen"), "volt")
        if held := self.value(block, "screen_farad"):
            self.pen.dot(at, top + 100)
            self.pen.capacitor(at, top + 100, top + 168, held)
            self.pen.chassis(at, top + 168)

    def _valve(self, name: str, type_name: str, x: float, y: float, *, screen: bool = False) -> None:
        self.pen.line((x, y - 30), (x, y - 24))
        self.pen.valve(x, y, screen=screen)
        down = 14 if screen else 0  # below the screen's lead
        self.pen.say(x + 28, y + 6 + down, name, "name")
        self.pen.say(x + 28, y + 23 + down, type_name or "?")

    def _cathode(self, block: Block, x: float, y: float, node: str) -> None:
        self.pen.line((x, y), (x, y + 24))
        self.pen.dot(x, y + 24)
        out = block.word("arrangement") == FOLLOWER  # its signal leaves to the right
        self.pen.say(x - 12 if out else x + 12, y + 28, self.volts(node), "volt", "end" if out else "start")
        if out:
            self.pen.line((x, y + 24), (x + 10, y + 24))
        if block.shares:
            self.pen.line((x, y + 24), (x, y + 44))
            self.pen.say(x - 18, y + 60, f"at the cathode of {block.shares}")
            return
        self.pen.resistor(x, y + 24, y + 98, self.value(block, "cathode_ohm"))
        self.pen.chassis(x, y + 98)
        if others := " ".join(one.name for one in self.sheet.of_kind(Kind.STAGE) if one.shares == block.name):
            self.pen.say(x + 16, y + 112, f"with {others}")
        if held := self.value(block, "cathode_farad"):
            self.pen.say(x + 10, y + 88, f"beside {held}")

    def _splitter(self, block: Block) -> None:
        if block.word("arrangement") != LONG_TAIL:
            self._cathodyne(block)
            return
        left, top = self.stage_x[block.name] + 100, self.under
        right = left + 120
        for x, ohm, number in ((left, "anode_ohm", 1), (right, "anode_2_ohm", 2)):
            self._hang(block.word("fed_by"), x, top)
            self.pen.resistor(x, top, top + 74, self.value(block, ohm))
            self.pen.dot(x, top + 74)
            self.pen.say(x + 12, top + 70, self.volts(f"{block.name} anode {number}"), "volt")
            self._valve(block.name if number == 1 else "", block.word("valve") if number == 1 else " ", x, top + 104)
            self.pen.line((x, top + 128), (x, top + 150))
        self.pen.line((left, top + 150), (right, top + 150))
        middle = (left + right) / 2
        self.pen.dot(middle, top + 150)
        self.pen.say(middle + 10, top + 166, self.volts(f"{block.name} cathode"), "volt")
        self.pen.resistor(middle, top + 150, top + 222, self.value(block, "cathode_ohm"), left=True)
        self.pen.dot(middle, top + 222)
        self.pen.say(middle + 10, top + 226, self.volts(f"{block.name} tail"), "volt")
        self.pen.resistor(middle, top + 222, top + 290, self.value(block, "tail_ohm"), left=True)
        self._into_feedback(block, middle, top + 290)
        self._input(block, left - 24, top + 106, self.stage_x[block.name] + 10, leak=False)
        self.pen.say(self.stage_x[block.name] + 12, top + 126, self.value(block, "grid_ohm"))

    def _cathodyne(self, block: Block) -> None:
        x, top = self.stage_x[block.name] + 100, self.under
        self._hang(block.word("fed_by"), x, top)
        self.pen.resistor(x, top, top + 74, self.value(block, "anode_ohm"))
        self.pen.say(x + 12, top + 70, self.volts(f"{block.name} anode"), "volt")
        self._valve(block.name, block.word("valve"), x, top + 104)
        self._input(block, x - 24, top + 106, self.stage_x[block.name] + 10, leak=False)
        self.pen.resistor(x, top + 128, top + 200, self.value(block, "cathode_ohm"))
        self.pen.dot(x, top + 204)
        self.pen.say(x + 12, top + 214, self.volts(f"{block.name} lower load"), "volt")
        self.pen.resistor(x, top + 200, top + 290, self.value(block, "tail_ohm"))
        self._into_feedback(block, x, top + 290)

    def _into_feedback(self, block: Block, x: float, y: float) -> None:
        """The lower end of a tail: chassis, or the feedback that ends there."""
        for feedback in self.sheet.of_kind(Kind.FEEDBACK):
            if feedback.word("into") == block.name:
                self.pen.dot(x, y)
                self.pen.resistor(x, y, y + 52, self.value(feedback, "shunt_ohm"), left=True)
                self.pen.chassis(x, y + 52)
                self.pen.across(x, x + 90, y, self.value(feedback, "ohm"))
                self.pen.say(x + 10, y + 24, f"{feedback.name} {self.volts(feedback.name)}", "volt")
                self.pen.say(x + 10, y + 41, f"from {feedback.word('fed_by')}")
                return
        self.pen.chassis(x, y)

    def _output(self, block: Block) -> None:
        valves, top = valves_of(block), self.under
        sides = [valves] if len(valves) == 1 else [valves[0::2], valves[1::2]]
        for side, mine in enumerate(sides):
            x = self.stage_x[block.name] + 110 + SIDE * side
            winding, name = ("winding_2_ohm" if side else "winding_ohm"), mine[0]
            self._hang(block.word("fed_by"), x, top)
            self.pen.coil(x, top, top + 74, self.value(block, winding))
            self.pen.say(x - 12, top + 66, self.volts(f"{' '.join(mine)} anode"), "volt", "end")
            self._valve(" ".join(mine), block.word("valve"), x, top + 104, screen=True)
            self.pen.line((x + 24, top + 100), (x + 34, top + 100), (x + 34, top + 90))
            self.pen.say(x + 30, top + 86, f"g2 {self.value(block, 'screen_ohm')}".strip())
            self.pen.line((x - 24, top + 106), (x - 44, top + 106))
            self.pen.resistor(x - 44, top + 106, top + 190, self.value(block, "grid_ohm") if not side else "", left=True)
            self.pen.say(x - 48, top + 98, self.volts(f"{name} grid"), "volt", "middle")
            if block.word("bias") == CATHODE:
                self.pen.chassis(x - 44, top + 190)
            else:
                self.pen.line((x - 44, top + 190), (x - 44, top + 236))
            shared = f"{block.name} cathode" if block.word("bias") == CATHODE else f"{name} cathode"
            if block.of("cathode_ohm").number is not None:
                self._cathode(block, x, top + 128, shared)
            else:
                self.pen.chassis(x, top + 128)
        if block.word("bias") != CATHODE:
            start = self.stage_x[block.name] + 66
            self.pen.line((start, top + 236), (start + (SIDE if len(sides) > 1 else 20), top + 236))
            self.pen.say(start, top + 254, f"{block.word('bias_from') or '?'} {self.volts(block.word('bias_from'))}", "volt")
        if said_load := " into ".join(one for one in (self.value(block, "load_ohm"), self.value(block, "speaker_ohm")) if one):
            self.pen.say(self.stage_x[block.name] + 66, top + 272, f"load {said_load}")
        if before := block.word("signal_from"):
            through = f" through {said_cap}" if (said_cap := self.value(block, "coupling_farad")) else ""
            self.pen.say(self.stage_x[block.name] + 66, top + 290, f"driven from {before}{through}")

    def _bottom(self) -> None:
        """Bias supplies and heaters, in words at the left below the rails."""
        y = self.under + 120
        for one in self.sheet.of_kind(Kind.BIAS):
            self.pen.say(LEFT, y, f"{one.name}  {self.volts(one.name)}", "volt")
            for words in (f"from {one.word('fed_by') or '?'}, {self.value(one, 'series_ohm')}, {self.value(one, 'farad')}",
                          f"range {self.value(one, 'range_ohm')}, pot {self.value(one, 'pot_ohm')}"):
                y += 18
                self.pen.say(LEFT, y, words)
            y += 30
        for one in self.sheet.of_kind(Kind.HEATERS):
            self.pen.say(LEFT, y, f"{one.name}  {self.volts(f'{one.name} AC')} AC", "volt")
            self.pen.say(LEFT, y + 18, f"reference: {one.word('reference') or '?'}")
            y += 48
