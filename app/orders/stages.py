"""The stages in the shop's own order, and which may follow which. Pure."""

from __future__ import annotations

from enum import StrEnum


class Stage(StrEnum):
    """Where a repair order stands."""

    INTAKE = "intake"
    TEARDOWN = "teardown"
    QUOTE = "quote"
    PARTS = "parts"
    REASSEMBLY = "reassembly"
    SAFETY_TEST = "safety_test"
    RETURN = "return"

    @property
    def word(self) -> str:
        return self.value.replace("_", " ").capitalize()


class End(StrEnum):
    """How a repair order ended."""

    REPAIRED = "repaired"
    UNREPAIRED = "returned_unrepaired"
    UNCOLLECTED = "uncollected"
    VOID = "void"  # opened by mistake: no amp came in by it

    @property
    def word(self) -> str:
        return {"repaired": "Returned repaired", "returned_unrepaired": "Returned unrepaired",
                "uncollected": "Uncollected", "void": "Void: opened by mistake"}[self.value]


IN_ORDER = tuple(Stage)


def next_stage(stage: Stage) -> Stage | None:
    """The stage that follows; None after the last."""
    here = IN_ORDER.index(stage)
    return IN_ORDER[here + 1] if here + 1 < len(IN_ORDER) else None


def up_to(stage: Stage) -> tuple[Stage, ...]:
    """This stage and all before it."""
    return IN_ORDER[: IN_ORDER.index(stage) + 1]


def is_back(here: Stage, there: Stage) -> bool:
    """Whether `there` lies before `here`."""
    return IN_ORDER.index(there) < IN_ORDER.index(here)
