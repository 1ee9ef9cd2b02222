"""Calculations that were kept for an order, and what of the order rests on each: a part's place, a point, the discharge record.

The calculations themselves and their pages are the bench's; here is only what other rooms read.
"""
