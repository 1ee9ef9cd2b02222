"""Intake: the counter checks an amp in.

Who left it, who owns it and who may approve cost; the amp as it is marked; the complaint in the customer's own words;
what must be kept; condition by zone with photos; accessories counted; a look for obvious danger; the diagnosis fee and
its ceiling; the terms, signed; a receipt.
"""
