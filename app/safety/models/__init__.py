"""Profiles with their limits; tests with what was seen and measured, soak runs."""
