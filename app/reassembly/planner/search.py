"""The best order for a small job: a best-first search over what is done and where one stands.

It is exact, because doing at once whatever costs no change never makes the rest dearer: taking a step out of
its later place cannot add a change, and here it adds none. (Hart, Nilsson and Raphael 1968, from memory.)
"""

from __future__ import annotations

from collections.abc import Iterator
from heapq import heappop, heappush

from app.reassembly.planner.changes import ANY, START, Costs, State, after

Node = tuple[int, State]
_LARGEST = 400
_LOOKS = 150_000


class _Search:
    def __init__(self, costs: Costs) -> None:
        self.costs = costs
        self.needs = [sum(1 << need for need in row) for row in costs.graph.before]
        self.whole = (1 << len(self.needs)) - 1
        self.units, self.sides, self.places = ({ANY: 0} for _ in range(3))
        for index, key in enumerate(costs.keys):
            for members, name in zip((self.units, self.sides, self.places), key, strict=True):
                members[name] = members.get(name, 0) | 1 << index
        self.looks = 0

    def ready(self, done: int) -> list[int]:
        self.looks += len(self.needs)
        return [i for i, need in enumerate(self.needs) if not done >> i & 1 and need & ~done == 0]

    def settle(self, done: int, here: State) -> tuple[int, State, list[int], list[int]]:
        """Do all that costs no change; return what is done, where one stands, the steps, what is ready."""
        taken: list[int] = []
        while True:
            ready = self.ready(done)
            free = [index for index in ready if self._free(done, here, self.costs.keys[index])]
            if not free:
                return done, here, taken, ready
            for index in sorted(free, key=lambda each: -self.costs.urgency[each]):
                if self._free(done, here, self.costs.keys[index]):
                    done |= 1 << index
                    here = after(here, self.costs.keys[index])
                    taken.append(index)

    def _free(self, done: int, here: State, key: State) -> bool:
        if self.costs.reach(here, key) or (ANY in here[1:] and after(here, key)[1:] != here[1:]):
            return False
        if key[0] == here[0]:
            return True
        return key[0] == ANY and self.units[here[0]] & ~done == 0

    def bound(self, done: int, here: State, ready: list[int]) -> int:
        """At least this much is still to pay."""
        costs = self.costs
        units, sides, places = (
            sum(1 for name, members in field.items() if name not in (ANY, at) and members & ~done)
            for field, at in zip((self.units, self.sides, self.places), here, strict=True)
        )
        spread = max(0, sides - (here[1] == ANY)) * costs.side_cost + max(0, places - (here[2] == ANY))
        chain = max((costs.tail[i] + costs.reach(here, costs.keys[i]) for i in ready), default=0)
        return units * costs.unit_cost + max(spread, chain)

    def moves(self, here: State, ready: list[int]) -> Iterator[tuple[int, int]]:
        """One step for each different key that could be next, with its cost."""
        seen: set[State] = set()
        for index in sorted(ready, key=lambda each: -self.costs.urgency[each]):
            key = self.costs.keys[index]
            if key not in seen:
                seen.add(key)
                yield index, self.costs.move(here, key)


def search(costs: Costs, *, haste: int = 1) -> list[int] | None:
    """The order with the fewest changes, or None when the job is too large to find it in time.

    `haste` above 1 overrates what is still to pay: the search ends sooner, with an order that is good but no
    longer sure to be the best.
    """
    if len(costs.keys) > _LARGEST:
        return None
    hunt = _Search(costs)
    done, here, taken, ready = hunt.settle(0, START)
    best: dict[Node, int] = {(done, here): 0}
    cameby: dict[Node, tuple[Node | None, list[int]]] = {(done, here): (None, taken)}
    count = 0
    heap = [(haste * hunt.bound(done, here, ready), -done.bit_count(), count, 0, (done, here), ready)]
    while heap and hunt.looks < _LOOKS:
        _, _, _, paid, node, ready = heappop(heap)
        if paid > best[node]:
            continue
        if node[0] == hunt.whole:
            return _trace(cameby, node)
        for index, cost in hunt.moves(node[1], ready):
            there = after(node[1], costs.keys[index])
            done, here, taken, offered = hunt.settle(node[0] | 1 << index, there)
            if paid + cost < best.get((done, here), paid + cost + 1):
                best[done, here] = paid + cost
                cameby[done, here] = (node, [index, *taken])
                count += 1
                total = paid + cost + haste * hunt.bound(done, here, offered)
                heappush(heap, (total, -done.bit_count(), count, paid + cost, (done, here), offered))
    return None


def _trace(cameby: dict[Node, tuple[Node | None, list[int]]], node: Node) -> list[int]:
    parts: list[list[int]] = []
    at: Node | None = node
    while at is not None:
        at, taken = cameby[at]
        parts.append(taken)
    return [index for part in reversed(parts) for index in part]
