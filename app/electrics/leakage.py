"""Board leakage and what the meter's own resistance does to a reading."""

from __future__ import annotations

from app.electrics.errors import ElectricsError, finite, not_negative, positive
from app.electrics.extremes import finite_result


@finite_result
def board_leakage(*, source_v: float, meter_v: float, meter_ohm: float = 10e6) -> float:
    """Resistance (ohm) from a source to a bare eyelet on which a meter reads meter_v against ground.

    The board and the meter divide the source: R = meter_ohm (source_v / meter_v - 1). source_v and meter_v
    in volts, same sign, neither zero, the reading no larger than the source; meter_ohm above zero. Raises
    ElectricsError otherwise: a reading of zero says only that the path is beyond what the meter resolves.
    """
    source, reading, meter = (
        _nonzero("source_v", source_v),
        finite("meter_v", meter_v),
        positive("meter_ohm", meter_ohm),
    )
    ratio = reading / source
    if not 0.0 < ratio <= 1.0:
        raise ElectricsError("meter_v", meter_v, f"above zero to {source:g}, of the source's sign")
    return meter * (source - reading) / reading


@finite_result
def loaded_reading(*, true_v: float, source_ohm: float, meter_ohm: float = 10e6) -> float:
    """Volts a meter of meter_ohm shows at a point of source resistance source_ohm and true_v unloaded.

    true_v of either sign, source_ohm zero or more, meter_ohm above zero; else ElectricsError.
    """
    return finite("true_v", true_v) / _loading(source_ohm, meter_ohm)


@finite_result
def unloaded(reading_v: float, *, source_ohm: float, meter_ohm: float = 10e6) -> float:
    """Volts before the meter was connected, reading (1 + source_ohm / meter_ohm): inverse of loaded_reading."""
    return finite("reading_v", reading_v) * _loading(source_ohm, meter_ohm)


@finite_result
def loading_error(*, source_ohm: float, meter_ohm: float = 10e6) -> float:
    """Share of the true volts that the meter takes away, Rs / (Rs + Rm), a fraction from 0 to below 1."""
    return 1.0 - 1.0 / _loading(source_ohm, meter_ohm)


@finite_result
def meter_input_ohm(*, true_v: float, reading_v: float, source_ohm: float) -> float:
    """A meter's input resistance (ohm) from a known source: Rs reading / (true - reading).

    source_ohm above zero, both volts of one sign, the reading the smaller; else ElectricsError.
    """
    source, reading, ohm = (
        _nonzero("true_v", true_v),
        finite("reading_v", reading_v),
        positive("source_ohm", source_ohm),
    )
    if not 0.0 < reading / source < 1.0:
        raise ElectricsError("reading_v", reading_v, f"between zero and {source:g}")
    return ohm * reading / (source - reading)


def _nonzero(argument: str, value: float) -> float:
    number = finite(argument, value)
    if number == 0.0:
        raise ElectricsError(argument, value, "other than zero")
    return number


def _loading(source_ohm: float, meter_ohm: float) -> float:
    return 1.0 + not_negative("source_ohm", source_ohm) / positive("meter_ohm", meter_ohm)
