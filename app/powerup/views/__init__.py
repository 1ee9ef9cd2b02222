"""The pages of a first power-up."""

from app.powerup.views import bias, halts, run, step  # noqa: F401 - each adds its pages to the blueprint
from app.powerup.views.common import bp

__all__ = ["bp"]
