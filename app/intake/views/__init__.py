"""The counter's pages: checking in, the sheets of an order, the records."""

from app.intake.views import check_in, people, records, sheets, terms  # noqa: F401 - each adds its pages to the blueprint
from app.intake.views.common import bp

__all__ = ["bp"]
