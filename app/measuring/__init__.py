"""Instruments and readings: what was read at which point, with which meter, and whether it lies in its band.

A verdict is always computed from the reading, its limits and the meter's uncertainty, and kept with them. Technicians
read; whoever keeps the instruments says what each states about itself and until when it is calibrated. Knows no stage.
"""
