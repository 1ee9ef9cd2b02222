"""Pages of the way back."""

from app.reassembly.views import counts, found, handover, plan, powered, readings, steps
from app.reassembly.views.common import bp

__all__ = ["bp", "counts", "found", "handover", "plan", "powered", "readings", "steps"]
