"""Photos side by side: one place as found and as left."""

from __future__ import annotations

from dataclasses import dataclass

from app.orders.models import RepairOrder
from app.photos import queries
from app.photos.models import Phase, Photo

MOST = 6


@dataclass(frozen=True)
class Pair:
    """One place; `left` is None where nobody photographed it again."""

    place: str
    found: Photo
    left: Photo | None


def pairs(order: RepairOrder, most: int = MOST) -> list[Pair]:
    """The first photo of each place as found with the last as left; places that have both come first, at most `most`."""
    after = {photo.place: photo for photo in queries.of_order(order.id, phase=Phase.AS_LEFT)}
    seen: dict[str, Pair] = {}
    for photo in queries.of_order(order.id, phase=Phase.AS_FOUND):
        seen.setdefault(photo.place, Pair(photo.place, photo, after.get(photo.place)))
    both = [pair for pair in seen.values() if pair.left]
    single = [pair for pair in seen.values() if not pair.left]
    return (both or single[:2])[:most]
