"""A good order, fast: stay where you are while there is work, then go where most turn-overs still hang."""

from __future__ import annotations

from heapq import heappop, heappush
from itertools import islice

from app.reassembly.planner.changes import ANY, START, Costs, State, after

# How many places to go are weighed at a change; a job has a dozen, and 5,000 must not make it slow.
_WEIGHED = 24
RULES = 3
_Bucket = list[tuple[float, int]]
_Rooms = dict[int, dict[int, _Bucket]]


class _Bench:
    """The steps that can be done now, by unit, side and place."""

    def __init__(self, costs: Costs, rule: int) -> None:
        graph, keys = costs.graph, costs.keys
        self.costs = costs
        self.rule = rule
        self.waits = [len(row) for row in graph.before]
        self.ready: dict[int, _Rooms] = {}
        self.enterable: dict[int, None] = {}
        self.left_in_unit: dict[int, int] = {}
        self.left_at: dict[State, int] = {}
        self.outside_needs: dict[int, int] = {}
        sides_of: dict[int, set[int]] = {}
        for index, key in enumerate(keys):
            self.left_in_unit[key[0]] = self.left_in_unit.get(key[0], 0) + 1
            self.left_at[key] = self.left_at.get(key, 0) + 1
            sides_of.setdefault(key[0], set()).add(key[1])
            self.outside_needs.setdefault(key[0], 0)
            self.outside_needs[key[0]] += sum(keys[need][0] != key[0] for need in graph.before[index])
        self.roams = {unit: unit != ANY and len(sides - {ANY}) > 1 for unit, sides in sides_of.items()}
        for index, count in enumerate(self.waits):
            if count == 0:
                self._offer(index)

    def _offer(self, index: int) -> None:
        unit, side, place = self.costs.keys[index]
        bucket = self.ready.setdefault(unit, {}).setdefault(side, {}).setdefault(place, [])
        heappush(bucket, (-self.costs.urgency[index], index))
        if unit != ANY and not self.outside_needs[unit]:
            self.enterable[unit] = None

    def take(self, key: State) -> int:
        """Do the most urgent step that is ready under the key."""
        unit, side, place = key
        index = self._draw(key)
        self.left_in_unit[unit] -= 1
        self.left_at[key] -= 1
        for follower in self.costs.graph.then[index]:
            self.waits[follower] -= 1
            other = self.costs.keys[follower][0]
            if other != unit:
                self.outside_needs[other] -= 1
                if other != ANY and not self.outside_needs[other] and other in self.ready:
                    self.enterable[other] = None
            if self.waits[follower] == 0:
                self._offer(follower)
        return index

    def _draw(self, key: State) -> int:
        unit, side, place = key
        rooms = self.ready[unit]
        places = rooms[side]
        bucket = places[place]
        index = heappop(bucket)[1]
        if not bucket:
            del places[place]
            if not places:
                del rooms[side]
                if not rooms:
                    del self.ready[unit]
                    self.enterable.pop(unit, None)
        return index

    def stay(self, here: State) -> State | None:
        """A key with ready steps that costs no change at all, if there is one."""
        unit, side, place = here
        name = unit if unit == ANY or self.left_in_unit[unit] else ANY
        rooms = self.ready.get(name, {})
        for level in (side, ANY):
            places = rooms.get(level)
            if places:
                if place in places:
                    return (name, level, place)
                if ANY in places:
                    return (name, level, ANY)
        return None

    def go(self, here: State) -> State:
        """The best key to change to."""
        unit = here[0]
        if unit != ANY and unit in self.ready:
            options = self._doors(unit, here)
        else:
            options = self._doors(ANY, here)
            for name in islice(self.enterable, _WEIGHED):
                options += self._doors(name, here)
            if not options:
                for name in islice(self.ready, _WEIGHED):
                    options += self._doors(name, here)
        return min(options, key=lambda key: self._dislike(here, key))

    def _doors(self, unit: int, here: State) -> list[State]:
        """Where to go within a unit; on another side only when this one has nothing."""
        rooms = self.ready.get(unit, {})
        levels = [level for level in (here[1], ANY) if level in rooms] or rooms
        return [(unit, level, place) for level in levels for place in islice(rooms[level], _WEIGHED)]

    def _dislike(self, here: State, key: State) -> tuple[float, ...]:
        unit, side, place = key
        bucket = self.ready[unit][side][place]
        first = bucket[0]
        early = unit != ANY and unit != here[0] and self.outside_needs[unit] > 0
        turns = side != here[1] and ANY not in (side, here[1])
        moves = place != here[2] and ANY not in (place, here[2])
        returns = self.left_at[key] > len(bucket)
        tail = -self.costs.tail[first[1]]
        if self.rule == 0:
            last: tuple[float, ...] = (tail, first[0], returns)
        elif self.rule == 1:
            last = (returns, tail, first[0])
        else:
            last = (first[0], -self.left_at[key], tail)
        return (early, turns, self.roams[unit] and not turns, moves, *last, first[1])


def greedy(costs: Costs, rule: int, start: State | None = None) -> list[int]:
    """An order (numbers of steps) by one of the RULES for choosing where to go, beginning at `start`."""
    bench = _Bench(costs, rule)
    here = START
    order: list[int] = []
    for _ in costs.keys:
        key = start if start and not order else bench.stay(here) or bench.go(here)
        order.append(bench.take(key))
        here = after(here, key)
    return order


def starts(costs: Costs) -> list[State]:
    """One key for each side that work can begin on: that of the step most turn-overs hang on."""
    first: dict[int, int] = {}
    for index, row in enumerate(costs.graph.before):
        if not row:
            side = costs.keys[index][1]
            if side not in first or costs.tail[index] > costs.tail[first[side]]:
                first[side] = index
    return [costs.keys[index] for index in first.values()]
