"""A count at every closure, and of every unit; after all proofs of what is closed in. (Common practice, no source.)"""

from __future__ import annotations

from collections.abc import Collection

from app.reassembly.planner.drafts import Key
from app.reassembly.planner.model import Model
from app.reassembly.planner.reasons import Strength
from app.reassembly.planner.steps import Step
from app.reassembly.planner.things import Thing

_FINAL: Key = ("CT_final", "")
_COUNTS = ("CT", "CT_cover", "count", "V")  # the check of a base counts its ends and pieces
_CLOSING = ("cover", "cabinet", "box")


class Closures:
    """Joins the counts to drafts that are otherwise whole."""

    def __init__(self, model: Model) -> None:
        self.model, self.drafts = model, model.drafts
        self.units = list(dict.fromkeys(each.unit for each in model.things.values()))
        # Deepest first: what came off last.
        back = [each for each in reversed(list(model.things.values())) if each.id in model.handles]
        self.covers = {model.handles[each.id].entry: each for each in back if model.has(each, *_CLOSING)}
        self.counted: dict[str | None, set[Key]] = {}
        self.units_in = {cavity.id: {model.things[name].unit for name in cavity.covers if name in model.things}
                         for cavity in model.job.cavities}
        self.named: dict[Key, Key] = {lid: ("count", cavity.id) for cavity in model.job.cavities
                                      for lid in model.keys_of(cavity.closes)}

    def join(self) -> None:
        """A count ends every unit; one goes before every cover; a last one when the job has more than one end."""
        for unit in self.units:
            self.counted[unit] = self._count_unit(unit)
        for cover, each in self.covers.items():
            self._count_closed_in(cover, each)
        ends = self.drafts.ends(self.drafts.every())
        if len(ends) > 1 or any(not self.drafts.step(key).proof for key in ends) or self._unseen():
            self.drafts.add(_FINAL, Step("CT_final", label="Count all hardware by type, whole job", proof=True))
            self._after(ends, [_FINAL])

    def _unseen(self) -> bool:
        """Whether something of no unit is left to a last count: it lies in no cavity, or goes back after the count of its own."""
        if self.counted.get(None) != set():
            return False
        seen = {(name, key) for cavity in self.model.job.cavities for name in cavity.covers
                for key in self.drafts.before([("count", cavity.id)]) if key[1] == name}
        return any((each.id, key) not in seen for each in self.model.back if each.unit is None
                   for key in self.drafts.every() if key[1] == each.id and key[0] not in _COUNTS)

    def _after(self, before: Collection[Key], then: Collection[Key]) -> None:
        self.drafts.join(before, then, "count-after-work", _owners(before), Strength.RECORD)

    def _closes(self, before: Collection[Key], then: Collection[Key]) -> None:
        self.drafts.join(before, then, "count-before-closure", _owners(then), Strength.SAFETY)

    def _count_unit(self, unit: str | None) -> set[Key]:
        """Count a unit after all of it that its own covers need not be on for; what stands for that count."""
        count: Key = ("CT", unit or "")
        covers = [cover for cover, each in self.covers.items() if each.unit == unit]
        late = self.drafts.behind(covers)
        members = {key for key in self.drafts.of_unit(unit) if key[0] not in ("CT", "CT_cover", "count")}
        if unit is None and self.named:  # what lies in a named cavity is counted with that, what lies in none by the last count
            self.drafts.drop(count)
            return set()
        inside = (members | self.drafts.proofs_of(members - late)) - late - self._all_counts()
        ends = self.drafts.ends(inside)
        ends |= inside - self.drafts.before(ends)  # what waits for itself in a circle has no end, and is counted all the same
        if ends and all(key[0] == "V" for key in ends) and inside == members:
            self.drafts.drop(count)  # a base by itself needs no second count
            return ends
        self._after(ends, [count])
        self._closes([count], covers)
        return {count}

    def _all_counts(self) -> set[Key]:
        return {key for key in self.drafts.every() if key[0] in ("CT", "CT_cover", "count")}

    def _count_closed_in(self, cover: Key, each: Thing) -> None:
        """Before a cover, the counts of the units it closes in, and a count of its own for what none of them saw.

        A cover of no unit is the amp's own and closes in every unit, save one that goes on over it.
        """
        for unit in self.units:
            closed_in = each.unit is None or bool(self._uncounted(cover) & self.drafts.of_unit(unit))
            if cover in self.named:
                closed_in = unit is not None and unit in self.units_in[self.named[cover][1]]
            if closed_in and not self.counted[unit] & self.drafts.behind([cover]):
                self._closes(self.counted[unit], [cover])
        left = self._uncounted(cover)
        if cover in self.named:  # the count of the cavity that it closes sees what no other count saw, too
            later = self.drafts.behind([self.named[cover]])
            self._after(self.drafts.ends(left - later), [self.named[cover]])
        elif left:
            step = Step(f"CT_{each.id}", label=f"Count every class of piece before {each.name or each.id} closes", unit=each.unit,
                        proof=True)
            key = self.drafts.add(("CT_cover", each.id), step)
            self._after(self.drafts.ends(left), [key])
            self._closes([key], [cover])

    def _uncounted(self, cover: Key) -> set[Key]:
        """What a cover waits for that no count before it waited for."""
        before = self.drafts.before([cover])
        counts: Collection[Key] = {key for key in before if key[0] in _COUNTS}
        return {key for key in before - self.drafts.before(counts) - set(counts) if key[0] != "HOLD"}


def _owners(keys: Collection[Key]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(owner for _, owner in sorted(keys) if owner))
