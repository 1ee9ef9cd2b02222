"""The tables of the strip-down."""

from app.teardown.models.findings import Finding
from app.teardown.models.made_safe import MadeSafe

__all__ = ["Finding", "MadeSafe"]
