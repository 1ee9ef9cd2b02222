"""What of an amp's sheet is otherwise than on the model's: its modifications. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from app.circuits.rules.blocks import FIELDS, Block, Field, Given, Sheet
from app.electrics import show

SAME = 1e-6


@dataclass(frozen=True)
class Modification:
    """One difference: where, what the model's sheet says, what this amp's says."""

    block: str
    what: str
    model: str
    here: str


def said(field: Field, given: Given) -> str:
    """A value as the bench writes it; nothing for nothing."""
    if given.word:
        return given.word
    return "" if given.number is None else show(given.number, field.unit, digits=4).replace("-", "−")


def described(block: Block) -> dict[str, str]:
    """Everything entered of a block, field by field, in words: for the journal too."""
    found = {"block": block.name, "kind": block.kind.value}
    for field in FIELDS[block.kind]:
        given = block.of(field.name)
        words = said(field, given)
        if given.reference:
            words = f"{words} ({given.reference})" if words else given.reference
        if given.tolerance is not None:
            words = f"{words} ±{given.tolerance:.0%}"
        found[field.label[:1].lower() + field.label[1:]] = words
    return found


def modifications(model: Sheet, here: Sheet) -> tuple[Modification, ...]:
    """The differences of this amp's sheet to the model's, block by block as their names go."""
    found = [one for block in here.blocks for one in _of_block(model.block(block.name), block)]
    found += [Modification(block.name, block.kind.value, "there", "left out") for block in model.blocks
              if here.block(block.name) is None]
    return tuple(found)


def _of_block(before: Block | None, block: Block) -> list[Modification]:
    if before is None:
        return [Modification(block.name, block.kind.value, "not there", "added")]
    if before.kind is not block.kind:
        return [Modification(block.name, "kind", before.kind.value, block.kind.value)]
    return [Modification(block.name, field.label[:1].lower() + field.label[1:], said(field, before.of(field.name)) or "not entered",
                         said(field, block.of(field.name)) or "not entered")
            for field in FIELDS[block.kind] if not _same(before.of(field.name), block.of(field.name))]


def _same(one: Given, other: Given) -> bool:
    if one.number is None or other.number is None:
        return one.number is other.number and one.word == other.word
    return abs(one.number - other.number) <= SAME * max(abs(one.number), abs(other.number))
