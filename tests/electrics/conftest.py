"""Property tests of the sums repeat themselves exactly, and a slow machine does not fail them."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("sums", deadline=None, derandomize=True)
settings.load_profile("sums")
