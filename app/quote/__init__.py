"""The quote: what would be done to the amp, line by line, what it costs, and what the customer said to it.

The bench draws lines up, each about a finding or free; a line is never edited, a later one takes its place. Issuing freezes the
lines as a revision with its sums. The counter records the answer: who agreed, how, when, to which lines and up to what sum. Work
for safety that is declined is acknowledged in writing, and then the finding it cures counts as declined.
"""
