"""The shop itself: its name on paper, its words, money, paper size, zone, jurisdiction, rates and thresholds.

Set from the first day by the owner; nothing of this is written into a template.
"""
