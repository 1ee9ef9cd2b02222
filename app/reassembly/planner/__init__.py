"""The way back: from what came off to an order in which it goes on again, and a ledger that balances.

Pure: no store, no clock. `steps_for` turns removals, or a whole job of things, into steps that know why they wait;
`way_back_of` does so past records that contradict each other; `plan` puts steps in order, `check` says what is wrong
with an order, `balance` what is still open.
"""

from app.reassembly.planner.cavities import closes_it
from app.reassembly.planner.changes import Changes, changes
from app.reassembly.planner.checking import Fault, check
from app.reassembly.planner.circles import Conflict
from app.reassembly.planner.energised import Power, power_states
from app.reassembly.planner.ledger import (
    Balance,
    Found,
    Ledger,
    LedgerError,
    Miss,
    Pair,
    Pairing,
    Row,
    balance,
    pair_found,
)
from app.reassembly.planner.order import Plan, plan
from app.reassembly.planner.questions import NOTHING, Question
from app.reassembly.planner.reasons import RULES, Reason, Strength
from app.reassembly.planner.removals import (
    FATES,
    KINDS,
    Gap,
    Removal,
    gaps,
    removed_pieces,
    stack_faults,
)
from app.reassembly.planner.steps import (
    BadStep,
    CircularSteps,
    DoubleStep,
    PlanError,
    Step,
    UnknownStep,
    from_graph,
)
from app.reassembly.planner.things import Act, Cavity, End, Job, Proof, Stack, Thing
from app.reassembly.planner.way_back import WayBack, origins, steps_for, way_back_of

__all__ = [
    "FATES",
    "KINDS",
    "NOTHING",
    "RULES",
    "Act",
    "BadStep",
    "Balance",
    "Cavity",
    "Changes",
    "CircularSteps",
    "Conflict",
    "DoubleStep",
    "End",
    "Fault",
    "Found",
    "Gap",
    "Job",
    "Ledger",
    "LedgerError",
    "Miss",
    "Pair",
    "Pairing",
    "Plan",
    "PlanError",
    "Power",
    "Proof",
    "Question",
    "Reason",
    "Removal",
    "Row",
    "Stack",
    "Step",
    "Strength",
    "Thing",
    "UnknownStep",
    "WayBack",
    "balance",
    "changes",
    "check",
    "closes_it",
    "from_graph",
    "gaps",
    "origins",
    "pair_found",
    "plan",
    "power_states",
    "removed_pieces",
    "stack_faults",
    "steps_for",
    "way_back_of",
]
