"""Pages of the removal ledger."""

from app.removals.views import entry, labels, odd, outcome, pieces
from app.removals.views.common import bp

__all__ = ["bp", "entry", "labels", "odd", "outcome", "pieces"]
