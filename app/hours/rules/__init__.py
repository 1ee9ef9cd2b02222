"""Decisions of the hours: pure, the time is passed in."""
