"""The pages of the strip-down."""

from app.teardown.views import findings, made_safe, outcome
from app.teardown.views.room import bp

__all__ = ["bp", "findings", "made_safe", "outcome"]
