"""The pages of instruments, of the usual points, and of an order's points and readings."""

from app.measuring.views import calibrations, points, readings  # noqa: F401 - each adds its pages to the blueprint
from app.measuring.views.common import bp
from app.measuring.views.instruments import bp as instruments

__all__ = ["bp", "instruments"]
