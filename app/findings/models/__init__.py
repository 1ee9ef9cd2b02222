"""The tables of the strip-down."""
