"""The blocks that a valve amplifier is described by: what each asks, in which unit, and what may feed it. Pure.

Usual tolerances of parts (10 % for a resistor of the age, 3 % for a winding's volts) are common practice, no source; a part's
own tolerance and a reading of it go before them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

RESISTOR = 0.10
WINDING_V = 0.03


class Kind(StrEnum):
    """The kinds of block, from the mains to the heaters."""

    MAINS = "mains and tap"
    WINDING = "transformer winding"
    RECTIFIER = "rectifier"
    RESERVOIR = "reservoir"
    DROPPER = "dropper"
    CHOKE = "choke"
    RAIL = "known supply"
    BIAS = "bias supply"
    STAGE = "preamp stage"
    SPLITTER = "phase splitter"
    OUTPUT = "output stage"
    FEEDBACK = "feedback"
    HEATERS = "heaters"


RAILS = (Kind.RESERVOIR, Kind.DROPPER, Kind.CHOKE, Kind.RAIL)
COMMON_CATHODE, FOLLOWER, PENTODE = "common cathode", "cathode follower", "pentode, common cathode"
WITH_ANODE = (COMMON_CATHODE, PENTODE)  # stages with a load in the anode
LONG_TAIL, CATHODYNE = "long-tail pair", "cathodyne"
BY_CAPACITOR, DIRECTLY = "through a capacitor", "directly"
FIXED, CATHODE = "fixed bias", "cathode bias"
ELEVATED = "elevated"
REFERENCES = ("centre tap of the winding", "two resistors", "humdinger", "one side to chassis", ELEVATED, "none")
RECTIFIERS = {"full wave, centre-tapped winding": "full_wave_ct", "bridge": "bridge", "half wave": "half_wave"}
BIAS_LAYOUTS = {"pot to chassis below the range resistor": "pot_to_ground",
                "pot above the range resistor, feed from its wiper": "divider"}
SILICON = "silicon"


@dataclass(frozen=True)
class Field:
    """One thing that is asked of a block.

    unit: a quantity in bench notation, kept in SI; none for a word.  choices: a word of this list.  kinds: the name of another
    block of the sheet of one of these kinds.  valve: a type of this kind ("triode", "pentode", "rectifier"; "small": a triode, or
    a pentode where the block is arranged as one).  part: something that sits in a place of its own, with a position on a board
    and a tolerance (`usual` unless one is given).  needed: nothing of the block can be calculated without it.  when: only asked
    where that other field has one of these words.  begins: a new block begins with one of the blocks that it can name.
    """

    name: str
    label: str
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    choices: tuple[str, ...] = ()
    kinds: tuple[Kind, ...] = ()
    valve: str = ""
    part: bool = False
    usual: float = 0.0
    needed: bool = True
    when: tuple[str, tuple[str, ...]] | None = None
    hint: str = ""
    begins: bool = True


def _ohm(name: str, label: str, *, low: float = 0.01, high: float = 20e6, needed: bool = True, hint: str = "",
         when: tuple[str, tuple[str, ...]] | None = None, usual: float = RESISTOR) -> Field:
    return Field(name, label, "ohm", low, high, part=True, usual=usual, needed=needed, when=when, hint=hint)


def _farad(name: str, label: str, *, needed: bool = True, when: tuple[str, tuple[str, ...]] | None = None,
           hint: str = "") -> Field:
    return Field(name, label, "F", 1e-12, 0.01, part=True, usual=0.20, needed=needed, when=when, hint=hint)


def _rail(name: str = "fed_by", label: str = "Fed by", kinds: tuple[Kind, ...] = RAILS) -> Field:
    return Field(name, label, kinds=kinds)


_COUPLED = Field("coupling", "Grid coupled", choices=(BY_CAPACITOR, DIRECTLY))
_SIGNAL = Field("signal_from", "Signal from", kinds=(Kind.STAGE,), needed=False)
_COUPLING_CAP = _farad("coupling_farad", "Coupling capacitor", needed=False, when=("coupling", (BY_CAPACITOR,)))
_GRID_LEAK = _ohm("grid_ohm", "Grid leak", when=("coupling", (BY_CAPACITOR,)))

FIELDS: dict[Kind, tuple[Field, ...]] = {
    Kind.MAINS: (Field("tap_v", "Volts of the tap in use", "V", 90, 260), Field("hz", "Mains frequency", "Hz", 40, 70),
                 _ohm("primary_ohm", "Primary, ohms DC", low=0.05, high=1000, needed=False, usual=0.05)),
    Kind.WINDING: (_rail(kinds=(Kind.MAINS,)),
                   Field("volt", "Volts with no load", "V", 1, 1500, part=True, usual=WINDING_V,
                         hint="Of each half where it is centre-tapped."),
                   _ohm("ohm", "Ohms DC", low=0.01, high=2000, usual=0.05, hint="Of each half where it is centre-tapped.")),
    Kind.RECTIFIER: (_rail(kinds=(Kind.WINDING,)), Field("arrangement", "Arrangement", choices=tuple(RECTIFIERS)),
                     Field("drop", "Rectifier", valve="rectifier", hint="A valve’s type, or “silicon”."),
                     _ohm("limit_ohm", "Limiting resistor", low=0.1, high=2000, needed=False, hint="In each leg.")),
    Kind.RESERVOIR: (_rail(kinds=(Kind.RECTIFIER,)), _farad("farad", "Capacitor")),
    Kind.DROPPER: (_rail(), _ohm("ohm", "Resistor", low=1, high=2e6), _farad("farad", "Capacitor after it")),
    Kind.CHOKE: (_rail(), Field("henry", "Inductance", "H", 0.01, 200, part=True, usual=0.2),
                 _ohm("ohm", "Ohms DC", low=0.1, high=5000, usual=0.05), _farad("farad", "Capacitor after it")),
    Kind.RAIL: (Field("volt", "Volts DC", "V", 1, 1500, part=True, usual=RESISTOR,
                      hint="Where the supply itself is not on the sheet: printed, or read."),),
    Kind.BIAS: (_rail(kinds=(Kind.WINDING,)), Field("layout", "Layout", choices=tuple(BIAS_LAYOUTS)),
                _ohm("series_ohm", "Resistor before the reservoir", low=1, high=1e6), _farad("farad", "Reservoir"),
                _ohm("range_ohm", "Range resistor", low=10, high=2e6), _ohm("pot_ohm", "Pot", low=10, high=2e6),
                Field("set_v", "Set to, volts at the feed", "V", -200, 0,
                      hint="Negative, at the tap’s volts: what the pot is set to cannot be calculated.")),
    Kind.STAGE: (_rail(), Field("arrangement", "Arrangement", choices=(COMMON_CATHODE, PENTODE, FOLLOWER)),
                 Field("valve", "Valve", valve="small"), _SIGNAL, _COUPLED,
                 _COUPLING_CAP, _GRID_LEAK, _ohm("anode_ohm", "Anode resistor", low=100, when=("arrangement", WITH_ANODE)),
                 _ohm("screen_ohm", "Screen dropper", low=1000, when=("arrangement", (PENTODE,)),
                      hint="Of a pentode: from its supply to its screen."),
                 _farad("screen_farad", "Screen capacitor", needed=False, when=("arrangement", (PENTODE,)),
                        hint="Of a pentode: from its screen to chassis."),
                 Field("shares_cathode", "Shares the cathode of", kinds=(Kind.STAGE,), needed=False, begins=False,
                       when=("arrangement", WITH_ANODE),
                       hint="One resistor for both: enter it, and its capacitor, at that stage and leave both empty here."),
                 _ohm("cathode_ohm", "Cathode resistor", low=10), _farad("cathode_farad", "Cathode capacitor", needed=False)),
    Kind.SPLITTER: (_rail(), Field("arrangement", "Arrangement", choices=(LONG_TAIL, CATHODYNE)),
                    Field("valve", "Valve", valve="triode"), _SIGNAL, _COUPLED,
                    _COUPLING_CAP, _GRID_LEAK, _ohm("anode_ohm", "Anode resistor", low=100),
                    _ohm("anode_2_ohm", "Second anode resistor", low=100, when=("arrangement", (LONG_TAIL,))),
                    _ohm("cathode_ohm", "Bias resistor", low=10), _ohm("tail_ohm", "Tail, or lower load", low=10)),
    Kind.OUTPUT: (_rail(label="Anodes fed by"), _rail("screens_from", "Screens fed by"), Field("valve", "Valve", valve="pentode"),
                  Field("count", "Valves", choices=("1", "2", "4")), Field("bias", "Bias", choices=(FIXED, CATHODE)),
                  Field("bias_from", "Bias supply", kinds=(Kind.BIAS,), when=("bias", (FIXED,))),
                  Field("signal_from", "Signal from", kinds=(Kind.SPLITTER, Kind.STAGE), needed=False),
                  _farad("coupling_farad", "Coupling capacitors", needed=False), _ohm("grid_ohm", "Grid leak, each", low=1000),
                  _ohm("screen_ohm", "Screen resistor, each", low=1, high=100e3, needed=False),
                  _ohm("cathode_ohm", "Cathode resistor", low=0.1, high=5000, when=("bias", (CATHODE,)),
                       hint="Shared. With fixed bias leave it empty or enter the one in each cathode."),
                  _farad("cathode_farad", "Cathode capacitor", needed=False),
                  _ohm("winding_ohm", "Half primary, ohms DC", low=0.5, high=5000, usual=0.05,
                       hint="One valve: the whole primary."),
                  _ohm("winding_2_ohm", "Other half, ohms DC", low=0.5, high=5000, usual=0.05, when=("count", ("2", "4"))),
                  Field("load_ohm", "Load, anode to anode", "ohm", 100, 100e3, needed=False),
                  Field("speaker_ohm", "Speaker load", "ohm", 1, 64, needed=False)),
    Kind.FEEDBACK: (Field("fed_by", "From", kinds=(Kind.OUTPUT,)), Field("into", "Into", kinds=(Kind.SPLITTER, Kind.STAGE)),
                    _ohm("ohm", "Series resistor", low=100), _ohm("shunt_ohm", "Resistor to chassis", low=10,
                                                                  hint="Below the tail or the cathode resistor.")),
    Kind.HEATERS: (_rail(kinds=(Kind.WINDING,)), Field("volt", "Nominal volts", "V", 1, 60),
                   Field("reference", "Reference", choices=REFERENCES),
                   Field("raised_by", "Raised from", kinds=RAILS, when=("reference", (ELEVATED,))),
                   _ohm("upper_ohm", "Upper resistor", low=1000, when=("reference", (ELEVATED,))),
                   _ohm("lower_ohm", "Lower resistor", low=100, when=("reference", (ELEVATED,)))),
}

# How the parts of a block are fed, in the order in which power and signal go: the order of a page and of the drawing.
IN_ORDER = tuple(Kind)


@dataclass(frozen=True)
class Given:
    """What is entered for one field: a number in SI, or a word; of a part where it sits and its tolerance (a fraction).

    origin: where the number comes from, in words: "typed", "measured, board 1 R6".
    """

    number: float | None = None
    word: str = ""
    reference: str = ""
    tolerance: float | None = None
    origin: str = "typed"

    @property
    def empty(self) -> bool:
        """Whether neither a number nor a word is known."""
        return self.number is None and not self.word


NOTHING = Given()


@dataclass(frozen=True)
class Block:
    """One block of a sheet under its own name, which is what other blocks are wired to."""

    kind: Kind
    name: str
    given: tuple[tuple[str, Given], ...] = ()
    block_id: int = 0

    def of(self, field: str) -> Given:
        """What is entered for a field."""
        return next((value for name, value in self.given if name == field), NOTHING)

    def number(self, field: str) -> float:
        """The number of a field that was found to be there."""
        found = self.of(field).number
        if found is None:
            raise KeyError(f"{self.name}: {field}")
        return found

    def word(self, field: str) -> str:
        """The word of a field; empty if there is none."""
        return self.of(field).word

    def asks(self, field: Field) -> bool:
        """Whether this field belongs to the block as it is arranged."""
        if field.when is None:
            return True
        other, words = field.when
        return self.word(other) in words

    @property
    def shares(self) -> str:
        """The stage whose cathode resistor is this one's too; empty if it has its own."""
        asked = self.kind is Kind.STAGE and self.word("arrangement") in WITH_ANODE
        return self.word("shares_cathode") if asked else ""

    def with_given(self, field: str, value: Given) -> Block:
        """The same block with one field otherwise."""
        return replace(self, given=tuple((name, value if name == field else old) for name, old in self.given))


@dataclass(frozen=True)
class Sheet:
    """The blocks of one amp. whole: everything that draws from the supply is on it, so that its load is known."""

    blocks: tuple[Block, ...]
    whole: bool = False

    def block(self, name: str) -> Block | None:
        """The block of that name."""
        return next((one for one in self.blocks if one.name == name), None)

    def of_kind(self, *kinds: Kind) -> Iterator[Block]:
        """The blocks of these kinds."""
        return (one for one in self.blocks if one.kind in kinds)


def field_of(kind: Kind, name: str) -> Field:
    """The field of that name."""
    return next(field for field in FIELDS[kind] if field.name == name)


def tolerance_of(block: Block, field: str) -> float:
    """The tolerance of a part as a fraction: its own, else the usual one."""
    given = block.of(field).tolerance
    return field_of(block.kind, field).usual if given is None else given


def links(kind: Kind) -> Iterator[Field]:
    """The fields of a kind that name another block."""
    return (field for field in FIELDS[kind] if field.kinds)
