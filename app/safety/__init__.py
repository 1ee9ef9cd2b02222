"""The safety test: after the last screw is in, with the lead that goes home, under limits whose source is written beside them.

Technicians look and measure; the verdict of a reading and the result of a test are computed. The owner answers for the limits:
one from memory passes nothing until edition and date are confirmed. Nothing here says more than "passed these tests on this
date". Local codes and licensed practice govern.
"""
