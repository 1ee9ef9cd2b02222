"""Whom and what the shop knows across repairs: customers, and amps as they are marked."""
