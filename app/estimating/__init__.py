"""How long work will take: three-point tasks, the shop's own history, hours still to come, finish dates.

Pure: no store, no clock; today's date is an argument. Hours are floats; bad input raises EstimateError.
"""

from app.estimating.at_completion import Completion, at_completion
from app.estimating.errors import EstimateError
from app.estimating.history import Calibration, Coverage, Interval, LogNormal, calibrate, coverage, shrunk, wilson
from app.estimating.queue import Finish, FinishDates, Task, finish_date, finish_dates
from app.estimating.scores import interval_score, pinball
from app.estimating.still_to_come import UNCALIBRATED_LOG_SD, Rest, log_normal, remaining, rest
from app.estimating.sums import Range, total
from app.estimating.three_point import ThreePoint, three_point

__all__ = [
    "UNCALIBRATED_LOG_SD",
    "Calibration",
    "Completion",
    "Coverage",
    "EstimateError",
    "Finish",
    "FinishDates",
    "Interval",
    "LogNormal",
    "Range",
    "Rest",
    "Task",
    "ThreePoint",
    "at_completion",
    "calibrate",
    "coverage",
    "finish_date",
    "finish_dates",
    "interval_score",
    "log_normal",
    "pinball",
    "remaining",
    "rest",
    "shrunk",
    "three_point",
    "total",
    "wilson",
]
