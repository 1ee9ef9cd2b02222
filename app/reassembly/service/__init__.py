"""What people do on the way back. Each function is one act: rule, write, journal; the caller commits."""

from app.reassembly.service.counts import count_base, count_closure, hand_over
from app.reassembly.service.proofs import measure
from app.reassembly.service.steps import do_step, do_steps, see_plan, undo_step

__all__ = ["count_base", "count_closure", "do_step", "do_steps", "hand_over", "measure", "see_plan", "undo_step"]
