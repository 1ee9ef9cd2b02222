"""Pages of the removal ledger."""

from app.teardown.removals.views import entry, labels, odd, outcome, pieces
from app.teardown.removals.views.common import bp

__all__ = ["bp", "entry", "labels", "odd", "outcome", "pieces"]
