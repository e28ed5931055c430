"""Reading against target: in order, off, or too close to call."""

import math
from dataclasses import dataclass
from enum import Enum
from typing import Final

import numpy as np

from catchpan.physics.refrigerant.reading import bubble_temperature_k, dew_temperature_k
from catchpan.physics.refrigerant.table import RefrigerantTable

THERMOMETER_K: Final = 1.3 / 1.8
THERMOMETER_SHARE: Final = 0.001
SUCTION_GAUGE_PA: Final = 3.5 * 6894.757
LIQUID_GAUGE_PA: Final = 7.0 * 6894.757
"""Limits of error of instruments: 0.1 % and 1.3 degF; 3.5 and 7 psi. Source: [cec-ra3.2]."""

LIMIT_OVER_DEVIATION: Final = 2.0
"""An instrument's limit of error is taken as two standard deviations (assumed)."""


class Verdict(Enum):
    """What a reading says against its target."""

    OK = "in order"
    LOW = "too low"
    HIGH = "too high"
    TOO_CLOSE = "too close to call"


@dataclass(frozen=True)
class Band:
    """How far a reading may lie from its target.

    Parameters
    ----------
    below, above : float
        Largest shortfall and largest excess that still pass [K, or the reading's unit].
    source : str
        Whose band it is.
    """

    below: float
    above: float
    source: str = ""


_CEC: Final = "CEC RA3.2"
SUPERHEAT_INSTALLER: Final = Band(5.0 / 1.8, 5.0 / 1.8, _CEC)
SUPERHEAT_RATER: Final = Band(6.0 / 1.8, 6.0 / 1.8, _CEC)
SUBCOOLING_INSTALLER: Final = Band(3.0 / 1.8, 3.0 / 1.8, _CEC)
SUBCOOLING_RATER: Final = Band(4.0 / 1.8, 4.0 / 1.8, f"{_CEC}, from memory")
SPLIT_INSTALLER: Final = Band(3.0 / 1.8, 3.0 / 1.8, _CEC)
SPLIT_RATER: Final = Band(4.0 / 1.8, 4.0 / 1.8, _CEC)

VALVE_SUPERHEAT_INSTALLER_K: Final = (4.0 / 1.8, 25.0 / 1.8)
VALVE_SUPERHEAT_RATER_K: Final = (3.0 / 1.8, 26.0 / 1.8)
"""Superheat of an expansion valve that works, where the maker names no range [K]: [cec-ra3.2]."""


def judged(
    reading: float, target: float, band: Band, deviation: float = 0.0, coverage: float = 1.0
) -> Verdict:
    """Say whether a reading is near enough to its target.

    Parameters
    ----------
    reading, target : float
        In one unit.
    band : Band
        What may lie between them, in that unit.
    deviation : float
        Standard deviation of their difference: instruments, weather, and the target itself.
    coverage : float
        How many deviations a reading must be away from the band's edge to be called (1: wrong one
        time in six at the very edge of what is called).

    Returns
    -------
    Verdict
        `TOO_CLOSE` when the uncertainty covers an edge of the band.

    Examples
    --------
    >>> judged(6.0, 3.0, SUPERHEAT_INSTALLER, deviation=1.0)
    <Verdict.TOO_CLOSE: 'too close to call'>

    Source: bands [cec-ra3.2]; the call by uncertainty is ours.
    """
    away, margin = reading - target, coverage * deviation + 1e-9
    over, under = away - band.above, -band.below - away
    if over > margin:
        return Verdict.HIGH
    if under > margin:
        return Verdict.LOW
    at_edge = coverage * deviation
    sure = max(over, under) <= (1e-9 if at_edge <= 0.0 else -at_edge)
    return Verdict.OK if sure else Verdict.TOO_CLOSE


def judged_range(
    reading: float, span: tuple[float, float], deviation: float = 0.0, coverage: float = 1.0
) -> Verdict:
    """Say whether a reading lies in a span, as `judged` does.

    Parameters
    ----------
    reading : float
        The reading.
    span : tuple of float
        Lowest and highest that pass.
    deviation, coverage : float
        As for `judged`.

    Returns
    -------
    Verdict
        Likewise.

    Examples
    --------
    >>> judged_range(20.0, VALVE_SUPERHEAT_INSTALLER_K)
    <Verdict.HIGH: 'too high'>
    """
    middle, half = 0.5 * (span[0] + span[1]), 0.5 * (span[1] - span[0])
    return judged(reading, middle, Band(half, half), deviation, coverage)


def together(*deviations: float) -> float:
    """Return the standard deviation of a sum of independent parts."""
    return math.hypot(*deviations)


def thermometer_deviation_k(temperature_k: float) -> float:
    """Return the standard deviation of a thermometer [K]: 0.1 % of the degF and 1.3 degF.

    Source: [cec-ra3.2] accuracies, halved.
    """
    share = THERMOMETER_SHARE * abs(temperature_k - 255.372)
    return (THERMOMETER_K + share) / LIMIT_OVER_DEVIATION


def superheat_deviation_k(
    table: RefrigerantTable, suction_pa: float, line_k: float, gauge_pa: float = SUCTION_GAUGE_PA
) -> float:
    """Return the standard deviation of a superheat from gauge and clamp.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    suction_pa, line_k : float
        Absolute pressure [Pa] and line temperature [K].
    gauge_pa : float
        Limit of error of the gauge [Pa].

    Returns
    -------
    float
        Kelvin.

    Raises
    ------
    OutOfRange
        If the pressure is outside the tables.

    Source: [cec-ra3.2] accuracies; law of propagation.
    """
    slope = _slope_k_pa(float(dew_temperature_k(table, suction_pa)), table, suction_pa, dew=True)
    gauge = slope * gauge_pa / LIMIT_OVER_DEVIATION
    return together(gauge, thermometer_deviation_k(line_k))


def subcooling_deviation_k(
    table: RefrigerantTable, liquid_pa: float, line_k: float, gauge_pa: float = LIQUID_GAUGE_PA
) -> float:
    """Return the standard deviation of a subcooling from gauge and clamp.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    liquid_pa, line_k : float
        Absolute pressure [Pa] and line temperature [K].
    gauge_pa : float
        Limit of error of the gauge [Pa].

    Returns
    -------
    float
        Kelvin.

    Raises
    ------
    OutOfRange
        If the pressure is outside the tables.

    Source: [cec-ra3.2] accuracies; law of propagation.
    """
    slope = _slope_k_pa(float(bubble_temperature_k(table, liquid_pa)), table, liquid_pa, dew=False)
    gauge = slope * gauge_pa / LIMIT_OVER_DEVIATION
    return together(gauge, thermometer_deviation_k(line_k))


def _slope_k_pa(at_k: float, table: RefrigerantTable, pressure_pa: float, *, dew: bool) -> float:
    """Return how saturation temperature rises with pressure, from just below [K/Pa]."""
    pressures = table.dew_pressure_pa if dew else table.bubble_pressure_pa
    return 0.1 / (pressure_pa - float(pressures(np.asarray(at_k - 0.1))))
