"""How a migration finds the record that words of an old record name. As the house did when it compared words at every look."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

# Words that are the metal itself, or what every stack means by them: no removal is meant.
METAL = frozenset({"chassis", "chassis insert", "body"})
THROUGH = METAL | {"fascia", "panel", "front panel", "rear panel", "back panel", "bezel", "cover", "board", "cabinet", "box"}
PIECES = frozenset({
    "knob", "dress nut", "nut", "lock-nut", "flat washer", "fibre washer", "cup washer", "toothed washer", "spring washer",
    "shoulder bush", "back-nut", "ring", "screw", "bolt", "grommet", "clip"})
NOTHING = "Nothing of that name has a record. If it stayed in the amp, set it aside."
SEVERAL = "Several records have that name."


@dataclass(frozen=True)
class Off:
    """A removal: its tag, name and place, and whether it was struck."""

    id: int
    mark: str
    name: str
    place: str
    struck: bool

    @property
    def title(self) -> str:
        return self.name if self.mark.lower() in self.name.lower().split() else f"{self.name} {self.mark}"


@dataclass(frozen=True)
class Found:
    """What words name: one record of a table, or why none."""

    table: str = ""
    id: int = 0
    why: str = ""


@dataclass
class Order:
    """Everything of one repair that has a name. Positions and boards as (id, names), findings number → id."""

    off: list[Off] = field(default_factory=list)
    boards: list[tuple[int, str]] = field(default_factory=list)
    positions: list[tuple[int, str, str]] = field(default_factory=list)  # id, reference, with its board
    findings: dict[int, int] = field(default_factory=dict)

    def removal(self, text: str, own: int | None = None) -> Found:
        """By tag, then by a name that means one thing; never itself."""
        plain = fold(text)
        tagged = [one.id for one in self.off if one.mark.lower() == plain and one.id != own]
        standing = [one for one in self.off if not one.struck]
        often = Counter(one.name.lower() for one in standing)
        named = [one.id for one in standing if one.id != own and plain == one.name.lower() and plain not in PIECES]
        titled = [one.id for one in standing if one.id != own and plain == one.title.lower()]
        return _one("removal", tagged or titled or (named if named and often[plain] == len(named) else []))

    def place(self, text: str) -> Found:
        """Where a part goes: what came off, a position of a board, a finding."""
        plain = fold(text)
        found = self.removal(text)
        if found.id or found.why is SEVERAL:
            return found
        listed = [key for key, _, whole in self.positions if whole.lower() == plain] or [
            key for key, reference, _ in self.positions if reference.lower() == plain]
        if listed:
            return _one("board_position", listed)
        return _one("finding", [key for number, key in self.findings.items() if plain == f"finding {number}"])

    def board(self, text: str) -> Found:
        return _one("board", [key for key, name in self.boards if name.lower() == fold(text)])

    def waiting_for(self, place: str) -> list[int]:
        """Removals that are the board of this place, or came off it."""
        plain = fold(place)
        return [one.id for one in self.off if plain and not one.struck
                and plain in (one.mark.lower(), one.name.lower(), one.title.lower(), one.place.lower())]


def _one(table: str, found: Sequence[int]) -> Found:
    if len(found) == 1:
        return Found(table, found[0])
    return Found(why=SEVERAL if found else NOTHING)


def fold(text: str) -> str:
    return " ".join(text.split()).lower()


def read(removals: Iterable[tuple[int, int, str, str, str, bool]], boards: Iterable[tuple[int, int, str]],
         positions: Iterable[tuple[int, int, str, str]], findings: Iterable[tuple[int, int, int]]) -> Mapping[int, Order]:
    """By order: removals as (order, id, mark, name, place, struck), boards (order, id, name), positions (order, id, reference,
    board), findings (order, id, number)."""
    orders: defaultdict[int, Order] = defaultdict(Order)
    for order, key, mark, name, place, struck in removals:
        orders[order].off.append(Off(key, mark, name, place, struck))
    for order, key, name in boards:
        orders[order].boards.append((key, name))
    for order, key, reference, board in positions:
        orders[order].positions.append((key, reference, f"{board} {reference}"))
    for order, key, number in findings:
        orders[order].findings[number] = key
    return orders
