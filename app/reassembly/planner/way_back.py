"""From the records of a strip-down to the steps of the way back.

Geometry comes from the records: what was under goes back first, a stack inner to outer. The rest are rules of
the trade that a strip-down worked backwards would miss (see `reasons.RULES`); every edge knows its rule and record.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.reassembly.planner.cavities import add_cavities, cavities, recorded
from app.reassembly.planner.circles import Conflict, settle
from app.reassembly.planner.closures import Closures
from app.reassembly.planner.drafts import Key
from app.reassembly.planner.from_removals import around, thing_of
from app.reassembly.planner.geometry import fixings, geometry
from app.reassembly.planner.joints import joints
from app.reassembly.planner.model import Model
from app.reassembly.planner.power import holders_before_fuses, wired_before_valves
from app.reassembly.planner.proofs import add_proofs, proofs
from app.reassembly.planner.questions import Question, questions
from app.reassembly.planner.removals import Removal
from app.reassembly.planner.steps import CircularSteps, Step
from app.reassembly.planner.things import Job, Thing
from app.reassembly.planner.usual import usual_proofs

Records = Iterable[Removal | Thing] | Job


@dataclass(frozen=True)
class WayBack:
    """Steps with what each waits for and why; where each comes from; and the records that contradict each other.

    The steps always have an order: of every contradiction one edge is left out, which its conflict names. `never_back`:
    things that their record would put back and that must not return. `unknown`: (record, what it lay under) where nothing
    of that name is recorded. `questions`: what the records leave open and one tap would settle.
    """

    steps: tuple[Step, ...]
    origins: dict[str, Key]
    conflicts: tuple[Conflict, ...]
    never_back: tuple[str, ...]
    unknown: tuple[tuple[str, str], ...]
    questions: tuple[Question, ...]


def steps_for(removals: Records, *, earthed: bool = True) -> tuple[Step, ...]:
    """The steps that put the removals back, with all that each waits for and nothing implied twice.

    Takes removal records, things, or a whole job with measurements and cavities of its own. What is scrapped or
    given back without replacement has no step; what lay under it and what lay over it keep their order. What is on
    hold waits for a step that decides its fate. A count ends every unit, goes before every cover, and ends the whole
    job when it has more than one end. `earthed=False`: the amp has no protective earth (class II).
    Raises DoubleStep, UnknownStep (an `under` that is no removal) and CircularSteps.
    """
    model = _laid_out(removals, earthed)
    if circles := settle(model.drafts, _sequence(model), tolerate=False):
        raise CircularSteps(circles[0].members)
    return model.drafts.steps()


def way_back_of(removals: Records, *, earthed: bool = True) -> WayBack:
    """The steps as `steps_for` gives them; a circle is told as a conflict of two records, and the rest still stands.

    What a record lay under that is not recorded itself is passed over and named. Raises DoubleStep.
    """
    model = _laid_out(removals, earthed, strict=False)
    conflicts = settle(model.drafts, _sequence(model), tolerate=True)
    return WayBack(model.drafts.steps(), _origins(model), conflicts, _never_back(model), tuple(model.unknown), questions(model))


def origins(removals: Records, *, earthed: bool = True) -> dict[str, Key]:
    """Step id → what it does ("BODY", "PE", "CT" …; "" is the fitting itself) and for which removal or unit."""
    return _origins(_laid_out(removals, earthed))


def job_of(removals: Records, *, earthed: bool = True) -> Job:
    """Records as a job of things."""
    if isinstance(removals, Job):
        return removals
    listed = list(removals)
    others = around(each for each in listed if isinstance(each, Removal))
    things = tuple(thing_of(each, others) if isinstance(each, Removal) else each for each in listed)
    return Job(things, cavities=recorded(things), earthed=earthed)


def _laid_out(removals: Records, earthed: bool, *, strict: bool = True) -> Model:
    """Every rule in turn. Measurements and counts come last: they look at what the others have joined."""
    model = Model(job_of(removals, earthed=earthed), strict=strict)
    add_proofs(model)
    add_cavities(model)
    fixings(model)
    geometry(model)
    joints(model)
    holders_before_fuses(model)
    wired_before_valves(model)
    if model.job.proofs:
        proofs(model)
        cavities(model)
    else:
        usual_proofs(model)
        cavities(model)
        Closures(model).join()
    return model


def _origins(model: Model) -> dict[str, Key]:
    return {model.drafts.step(key).id: key for key in model.drafts.in_order()}


def _sequence(model: Model) -> dict[str, int]:
    return {thing.id: number for number, thing in enumerate(model.things.values())}


def _never_back(model: Model) -> tuple[str, ...]:
    """What its record would put back and must not: a capacitor from the line to the chassis."""
    return tuple(thing.id for thing in model.things.values() if thing.goes_back and not model.returns(thing))
