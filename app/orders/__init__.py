"""The spine: the repair order, the stages it travels through, and the gates between them.

A stage says what an order waits for, not what may be typed. Moves are made by a person, refused with the whole list of
what is missing, and journalled. The spine knows no stage's tables: each stage registers its own gate.
"""
