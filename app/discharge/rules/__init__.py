"""The decisions of this room. Pure."""
