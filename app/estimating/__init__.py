"""How long work will take: three-point tasks, the shop's own history, hours still to come, finish dates.

Pure: no store, no clock; today's date is an argument. Hours are floats; bad input raises EstimateError.
"""

from app.estimating.errors import EstimateError
from app.estimating.history import Calibration, Coverage, Interval, LogNormal, calibrate, coverage, shrunk, wilson
from app.estimating.queue import FinishDates, Task, finish_date
from app.estimating.scores import interval_score, pinball
from app.estimating.still_to_come import UNCALIBRATED_LOG_SD, log_normal, remaining
from app.estimating.sums import Range, total
from app.estimating.three_point import ThreePoint, three_point

__all__ = [
    "UNCALIBRATED_LOG_SD",
    "Calibration",
    "Coverage",
    "EstimateError",
    "FinishDates",
    "Interval",
    "LogNormal",
    "Range",
    "Task",
    "ThreePoint",
    "calibrate",
    "coverage",
    "finish_date",
    "interval_score",
    "log_normal",
    "pinball",
    "remaining",
    "shrunk",
    "three_point",
    "total",
    "wilson",
]
