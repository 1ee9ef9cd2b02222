"""The counter's pages: checking in, the sheets of an order, the records."""

from app.intake.views import (  # noqa: F401 - each adds its pages to the blueprint
    check_in,
    come_back,
    merging,
    people,
    records,
    sheets,
    shop_terms,
    terms,
)
from app.intake.views.common import bp

__all__ = ["bp"]
