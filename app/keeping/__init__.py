"""Keeping: check everything against its hash, write everything into one file, make a shop from such a file."""
