"""Single-phase motors: run capacitors, windings, and the supply they can bear."""

from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from catchpan.units.errors import OutOfRange
from catchpan.units.span import FloatArray, within

DUAL_RATED_LIMITS_V: Final = (197.0, 253.0)
"""Supply a unit rated 208/230 V accepts by one maker's table [V]."""

_LEAST_OHM: Final = 0.05


def run_capacitance_f(
    current_a: ArrayLike, voltage_v: ArrayLike, frequency_hz: ArrayLike = 60.0
) -> FloatArray:
    """Return the capacitance of a run capacitor from its current and voltage under load.

    Line voltage and more stands across it: measure only if trained, else test it on the bench,
    discharged through a resistor and proved dead.

    Parameters
    ----------
    current_a : array_like
        Current in the start-winding lead [A], 0 to 100.
    voltage_v : array_like
        Voltage across the capacitor [V], 1 to 1000.
    frequency_hz : array_like, optional
        Line frequency [Hz], 40 to 70.

    Returns
    -------
    FloatArray
        Capacitance [F].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Examples
    --------
    >>> round(float(run_capacitance_f(1.1, 383.0)) * 1e6, 2)
    7.62

    Source: ``I = 2 pi f C V``; the trade's 2652 I/V at 60 Hz.
    """
    current = within("current", current_a, 0.0, 100.0, "A")
    voltage = within("capacitor voltage", voltage_v, 1.0, 1e3, "V")
    return current / (2 * np.pi * within("frequency", frequency_hz, 40.0, 70.0, "Hz") * voltage)


def capacitor_is_good(
    measured_f: ArrayLike, rated_f: ArrayLike, tolerance: ArrayLike = 0.06
) -> np.ndarray:
    """Say whether a capacitor is within its printed tolerance.

    Parameters
    ----------
    measured_f, rated_f : array_like
        Measured and printed capacitance [F], 0 to 0.01.
    tolerance : array_like, optional
        Printed tolerance as a share, 0 to 0.5.

    Returns
    -------
    numpy.ndarray of bool
        Whether the difference is no more than the tolerance.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: common practice; most labels print 5 or 6 %.
    """
    rated = within("rated capacitance", rated_f, 1e-9, 0.01, "F")
    off = np.abs(within("measured capacitance", measured_f, 0.0, 0.01, "F") - rated)
    return off <= rated * within("tolerance", tolerance, 0.0, 0.5, "") * (1 + 1e-9)


class WindingState(StrEnum):
    """What three readings between a compressor's terminals mean."""

    GOOD = "windings good"
    OVERLOAD_OPEN = "internal overload open"
    START_OPEN = "start winding open"
    RUN_OPEN = "run winding open"
    ALL_OPEN = "nothing connected"
    SHORTED = "winding shorted"
    CONTRADICTORY = "readings do not fit together"


def winding_readings_ohm(
    run_ohm: ArrayLike, start_ohm: ArrayLike, overload_open: ArrayLike = False
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what an ohmmeter shows between the three terminals.

    Parameters
    ----------
    run_ohm, start_ohm : array_like
        Resistance of each winding [ohm], 0 to infinite (open).
    overload_open : array_like of bool, optional
        Whether the internal overload has opened the common terminal.

    Returns
    -------
    common_start, common_run, start_run : FloatArray
        Readings [ohm]; infinite where the meter shows OL.

    Raises
    ------
    OutOfRange
        If a resistance is negative.

    Source: series circuit; trade press for the internal overload.
    """
    run = within("run winding", run_ohm, 0.0, np.inf, "ohm")
    start = within("start winding", start_ohm, 0.0, np.inf, "ohm")
    cut = np.asarray(overload_open, dtype=bool)
    return np.where(cut, np.inf, start), np.where(cut, np.inf, run), start + run


def winding_state(
    common_start_ohm: float, common_run_ohm: float, start_run_ohm: float, *, meter_ohm: float = 0.2
) -> WindingState:
    """Judge a compressor's windings from three readings.

    Power off, wires pulled, capacitor discharged. An open internal overload needs time to cool,
    sometimes hours: do not condemn the compressor for it.

    Parameters
    ----------
    common_start_ohm, common_run_ohm, start_run_ohm : float
        Readings [ohm], 0 to infinite (OL).
    meter_ohm : float, optional
        Error of the meter and its leads per reading [ohm], 0 to 10; a tenth of the reading is
        allowed besides.

    Returns
    -------
    WindingState
        What the readings mean. That the start winding is the larger one is only a habit of
        makers and is not asked for.

    Raises
    ------
    OutOfRange
        If a reading is negative.

    Source: start-run = common-start + common-run (trade press; worked readings in the tests).
    """
    readings = (common_start_ohm, common_run_ohm, start_run_ohm)
    checked = [float(within("winding reading", each, 0.0, np.inf, "ohm")) for each in readings]
    open_state = _open_state(*(bool(np.isinf(each)) for each in checked))
    if open_state is not None:
        return open_state
    if min(checked) < _LEAST_OHM:
        return WindingState.SHORTED
    common_start, common_run, start_run = checked
    allowed = 0.1 * start_run + meter_ohm
    fits = abs(common_start + common_run - start_run) <= allowed
    return WindingState.GOOD if fits else WindingState.CONTRADICTORY


def _open_state(start: bool, run: bool, both: bool) -> WindingState | None:
    pattern = (start, run, both)
    known = {
        (False, False, False): None,
        (True, True, False): WindingState.OVERLOAD_OPEN,
        (True, False, True): WindingState.START_OPEN,
        (False, True, True): WindingState.RUN_OPEN,
        (True, True, True): WindingState.ALL_OPEN,
    }
    return known.get(pattern, WindingState.CONTRADICTORY)


def voltage_unbalance(voltages_v: ArrayLike) -> FloatArray:
    """Return the unbalance of a three-phase supply.

    Parameters
    ----------
    voltages_v : array_like
        Line-to-line voltages [V], shape (..., 3), each 1 to 1000.

    Returns
    -------
    FloatArray
        Largest deviation from the mean over the (unrounded) mean, shape (...).

    Raises
    ------
    OutOfRange
        If a voltage is outside its span or there are not three.

    Examples
    --------
    >>> round(float(voltage_unbalance([221.0, 230.0, 227.0])), 5)
    0.02212

    Source: NEMA MG 1 definition, as quoted in the trade press.
    """
    volts = within("line voltage", voltages_v, 1.0, 1e3, "V")
    if volts.shape[-1:] != (3,):
        raise OutOfRange("number of line voltages", volts.shape[-1] if volts.ndim else 1, 3, 3, "")
    mean = volts.mean(axis=-1, keepdims=True)
    return np.asarray((np.abs(volts - mean) / mean).max(axis=-1))


def plain_voltage_limits_v(
    lowest_nameplate_v: float, highest_nameplate_v: float
) -> tuple[float, float]:
    """Return the supply a motor bears when its maker gives no limits.

    Parameters
    ----------
    lowest_nameplate_v, highest_nameplate_v : float
        Rated voltage or voltages [V], 10 to 1000; equal when there is only one.

    Returns
    -------
    tuple of float
        10 % below the lower and above the higher [V].

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: NEMA MG 1-12.44 (from memory).
    """
    low = float(within("nameplate voltage", lowest_nameplate_v, 10.0, 1e3, "V"))
    high = float(within("nameplate voltage", highest_nameplate_v, low, 1e3, "V"))
    return 0.9 * low, 1.1 * high


def voltage_is_allowed(
    supply_v: ArrayLike, limits_v: tuple[float, float] = DUAL_RATED_LIMITS_V
) -> np.ndarray:
    """Say whether a supply voltage lies within a unit's limits, both included.

    Parameters
    ----------
    supply_v : array_like
        Supply at the unit, running [V], 0 to 1000.
    limits_v : tuple of float, optional
        Lowest and highest allowed [V].

    Returns
    -------
    numpy.ndarray of bool
        Whether it is allowed.

    Raises
    ------
    OutOfRange
        If the supply is outside its span.
    """
    supply = within("supply voltage", supply_v, 0.0, 1e3, "V")
    return (supply >= limits_v[0]) & (supply <= limits_v[1])
