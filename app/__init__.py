"""Tagstrip: the second memory of a valve-amplifier repair, from the counter to the door."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

    from app.config import Config


def create_app(config: Config) -> Flask:
    """One application on one data folder. The schema must be current: see app.migrate."""
    from app.factory import build  # the sums are used without any page: importing app must not load Flask

    return build(config)
