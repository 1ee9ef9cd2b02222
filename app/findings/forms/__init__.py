"""The forms of the strip-down."""
