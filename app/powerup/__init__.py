"""The first power-up after work inside: sixteen steps from the count to the safety test, each with what it may show.

The technician does it at the bench, glove on one hand. Nothing goes on without a reading in its band, and what aborts a step is a
finding that has to be decided first.
"""
