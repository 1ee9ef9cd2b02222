"""Parts: what the agreed work calls for, ordered within the agreed sum, checked on arrival, fitted in its place.

A part is needed, ordered, received, fitted; or dropped with a reason when the work is planned anew. What arrives must bear at
least the rating of its place and have passed its incoming test.
"""
