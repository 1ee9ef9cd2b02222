"""The pages of the strip-down."""

from app.teardown.views import boards, findings, made_safe, outcome, special, waste
from app.teardown.views.catalogue import catalogue_bp
from app.teardown.views.room import bp

__all__ = ["boards", "bp", "catalogue_bp", "findings", "made_safe", "outcome", "special", "waste"]
