"""The pages of the return."""

from app.handover.views import come_back, going_out, uncollected, unrepaired
from app.handover.views.common import bp

__all__ = ["bp", "come_back", "going_out", "uncollected", "unrepaired"]
