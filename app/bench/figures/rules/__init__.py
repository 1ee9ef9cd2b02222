"""The sums of the figures. Pure."""
