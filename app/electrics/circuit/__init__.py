"""Circuits of parts between nodes: at rest, for small signals, with their spread, and what explains a wrong reading."""
