"""Somebody was hurt, or could have been: who, what, when, what was done, and what was told to whom by when.

Written down once and never changed; what is told or put right later stands below it. Where the law of the shop's place sets a
time for a report, it is shown until somebody has reported, or has said why no report is due.
"""
