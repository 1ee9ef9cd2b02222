"""The pages of the amp's sheet."""

from app.circuits.views import blocks, sheets
from app.circuits.views.common import bp

__all__ = ["blocks", "bp", "sheets"]
