"""The pages of the strip-down."""

from app.findings.views import findings, made_safe, outcome, special, waste
from app.findings.views.catalogue import catalogue_bp
from app.findings.views.room import bp

__all__ = ["bp", "catalogue_bp", "findings", "made_safe", "outcome", "special", "waste"]
