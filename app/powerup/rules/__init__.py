"""The rules of a first power-up. Pure."""
