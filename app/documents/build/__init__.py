"""Gathering what stands on each paper. One file a kind; each returns the values of one template."""

from app.documents.build.paper import Paper, paper

__all__ = ["Paper", "paper"]
