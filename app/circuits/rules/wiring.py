"""What of a sheet is known well enough to be calculated, and for want of what the rest is not. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from app.circuits.rules.blocks import (
    BY_CAPACITOR,
    CATHODYNE,
    DIRECTLY,
    FIELDS,
    FOLLOWER,
    LONG_TAIL,
    PENTODE,
    RAILS,
    SILICON,
    WITH_ANODE,
    Block,
    Field,
    Kind,
    Sheet,
    links,
)
from app.electrics import ElectricsError, valve

# Blocks that the signal goes through, and that draw from a supply.
DRAWS = (Kind.STAGE, Kind.SPLITTER, Kind.OUTPUT)


def wants(block: Block, sheet: Sheet) -> tuple[str, ...]:
    """What this block itself lacks, in words; nothing if it is complete."""
    found = [words for field in FIELDS[block.kind] if block.asks(field) for words in _of_field(block, field, sheet)]
    return (*found, *_arrangement(block), *_shared(block, sheet), *_loop(block, sheet))


def _of_field(block: Block, field: Field, sheet: Sheet) -> Iterator[str]:
    given = block.of(field.name)
    if given.empty:
        if field.needed and not (field.name == "cathode_ohm" and (_cathodyne_directly(block) or block.shares)):
            yield f"{_low(field.label)} is not entered"
    elif field.kinds:
        other = sheet.block(given.word)
        if other is None:
            yield f"{_low(field.label)}: there is no block called {given.word}"
        elif other.kind not in field.kinds:
            yield f"{_low(field.label)}: {given.word} is a {other.kind.value}"
    elif field.valve and not (field.valve == "rectifier" and given.word.lower() == SILICON):
        wanted = ("pentode stage" if block.word("arrangement") == PENTODE else "triode") if field.valve == "small" else field.valve
        yield from _of_valve(given.word, wanted)


def _cathodyne_directly(block: Block) -> bool:
    """Whether the resistor below the cathode may be left out: the grid stands at the anode before it."""
    return block.word("arrangement") == CATHODYNE and block.word("coupling") == DIRECTLY


def _of_valve(name: str, kind: str) -> Iterator[str]:
    try:
        found = valve(name)
        if kind == "rectifier":
            if found.rectifier is None:
                yield f"{found.name} is no rectifier"
            elif found.rectifier.perveance is None:
                yield f"the drop of a {found.name} is not known here"
        elif kind == "triode":
            found.triode()
        else:
            found.pentode()
            if kind == "pentode" and found.small:
                yield f"a {found.name} is a pentode of preamp stages, no output valve"
    except ElectricsError as wrong:
        yield f"valve {name}: {wrong.allowed}"


def _arrangement(block: Block) -> Iterator[str]:
    """What a block is arranged as and these sums do not cover."""
    arranged, coupled = block.word("arrangement"), block.word("coupling")
    if arranged == FOLLOWER and coupled == BY_CAPACITOR:
        yield "a cathode follower behind a capacitor is not covered: where its grid leak ends would have to be known"
    if arranged == LONG_TAIL and coupled == DIRECTLY:
        yield "a long-tail pair that is coupled directly is not covered"
    if coupled == DIRECTLY and not block.word("signal_from"):
        yield "signal from is not entered: its grid is at that stage’s anode"


def _shared(block: Block, sheet: Sheet) -> Iterator[str]:
    """What is wrong with a cathode that two stages share."""
    if block.kind is Kind.FEEDBACK:
        into = sheet.block(block.word("into"))
        if into is not None and into.shares:
            yield f"into: {into.name} shares the cathode of {into.shares}: name {into.shares}"
    if not block.shares:
        return
    other = sheet.block(block.shares)
    if other is not None and other.name == block.name:
        yield "it shares its cathode with itself: name the other stage"
    elif other is not None and other.shares:
        yield f"{other.name} shares the cathode of {other.shares}: name the stage that has the resistor"
    elif other is not None and other.kind is Kind.STAGE and (arranged := other.word("arrangement")) and arranged not in WITH_ANODE:
        yield f"shares the cathode of: {other.name} is a {arranged}, whose cathode is its output"
    for name, label in (("cathode_ohm", "resistor"), ("cathode_farad", "capacitor")):
        if block.of(name).number is not None:
            yield f"a cathode {label} is entered, and it shares that of {block.shares}: leave one of them out"


def _loop(block: Block, sheet: Sheet) -> Iterator[str]:
    """A feed that leads back to the block itself."""
    seen, at = {block.name}, block
    while (feeds := at.word("fed_by")) and (other := sheet.block(feeds)) is not None:
        if other.name == block.name:
            yield "its feeds lead back to itself"
            return
        if other.name in seen:
            return
        seen.add(other.name)
        at = other


def unknown(sheet: Sheet) -> dict[str, tuple[str, ...]]:
    """Every block of which nothing can be calculated yet, with the reasons in words.

    A block is not known if it lacks something, if what feeds it is not known, or if it is part of a supply of which a load is
    not known: a chain's volts follow from everything that draws on it.
    """
    found = {one.name: why for one in sheet.blocks if (why := wants(one, sheet))}
    _spread(sheet, found, beside_rails=True)  # first what does not come by a rail: a bias supply, a stage coupled directly
    lacking = dict(found)
    for one in sheet.of_kind(Kind.RESERVOIR, Kind.DROPPER, Kind.CHOKE):
        if one.name not in found and (load := _load_unknown(one, sheet, lacking)):
            found[one.name] = (load,)
    _spread(sheet, found, beside_rails=False)
    return found


def _spread(sheet: Sheet, found: dict[str, tuple[str, ...]], *, beside_rails: bool) -> None:
    """Add the blocks that hang on one that is not known, and those that hang on them."""
    changed = True
    while changed:
        changed = False
        for one in sheet.blocks:
            if one.name not in found and (hangs := _fed_by_unknown(one, sheet, found, beside_rails=beside_rails)):
                found[one.name] = (hangs,)
                changed = True


def _load_unknown(rail: Block, sheet: Sheet, lacking: dict[str, tuple[str, ...]]) -> str:
    """Why the current through a rail is not known; empty if it is."""
    if not sheet.whole:
        return "its load is not known until the sheet is said to hold everything that draws from the supply"
    tree = tree_of(rail, sheet)
    for one in sheet.blocks:
        fields = [field.name for field in links(one.kind) if one.word(field.name) in tree]
        if one.name in lacking and (fields or one.name in tree):
            return f"its load is not known: {one.name} is not complete"
    return ""


def tree_of(rail: Block, sheet: Sheet) -> set[str]:
    """The names of all rails that share this one's current: up to the reservoir, or up to what a known supply feeds."""
    top, seen = rail, {rail.name}
    onward = (Kind.RESERVOIR, Kind.DROPPER, Kind.CHOKE)
    while (above := sheet.block(top.word("fed_by"))) and above.kind in onward and above.name not in seen:
        top = above
        seen.add(top.name)
    tree = {top.name}
    grown = True
    while grown:
        more = {one.name for one in sheet.of_kind(*RAILS) if one.word("fed_by") in tree and one.kind is not Kind.RAIL} - tree
        tree |= more
        grown = bool(more)
    return tree


def in_chain(sheet: Sheet) -> list[Block]:
    """The rails from each root on, what feeds others before what they feed."""
    rails = list(sheet.of_kind(*RAILS))
    found: list[Block] = []
    waiting = [one for one in rails if one.kind in (Kind.RESERVOIR, Kind.RAIL)]
    while waiting:
        one = waiting.pop(0)
        if one not in found:
            found.append(one)
            waiting = [other for other in rails if other.word("fed_by") == one.name and other not in found] + waiting
    return [*found, *(one for one in rails if one not in found)]


def in_signal_order(sheet: Sheet) -> list[Block]:
    """Stages, splitters and output stages as the signal goes through them: one path after another, that of the output last."""
    blocks = list(sheet.of_kind(*DRAWS))
    names = {one.name for one in blocks}

    def path(block: Block, seen: frozenset[str] = frozenset()) -> list[Block]:
        after = [one for one in blocks if one.word("signal_from") == block.name and one.name not in seen]
        return [block, *(one for first in after for one in path(first, seen | {block.name, first.name}))]

    paths = sorted((path(one) for one in blocks if one.word("signal_from") not in names),
                   key=lambda found: max(DRAWS.index(one.kind) for one in found))
    return list(dict.fromkeys(one for found in (*paths, blocks) for one in found))


def _fed_by_unknown(block: Block, sheet: Sheet, lacking: dict[str, tuple[str, ...]], *, beside_rails: bool) -> str:
    """Which block that this one hangs on is not known, in words; empty if all are."""
    for field in links(block.kind):
        name = block.word(field.name)
        if not block.asks(field) or name not in lacking or (beside_rails and field.kinds == RAILS):
            continue
        if field.name == "signal_from" and block.word("coupling") != DIRECTLY:
            continue  # a capacitor passes nothing at rest
        if block.kind is Kind.FEEDBACK:
            continue  # at rest it is two resistors to chassis
        return f"{name} is not known yet"
    for other in sheet.of_kind(Kind.STAGE):
        if other.shares == block.name and other.name in lacking:
            return f"{other.name}, which shares its cathode, is not known yet"
    for feedback in sheet.of_kind(Kind.FEEDBACK):
        if feedback.word("into") == block.name and feedback.name in lacking:
            return f"{feedback.name}, which its lower end goes to, is not complete"
    return ""


def _low(label: str) -> str:
    return label[:1].lower() + label[1:]
