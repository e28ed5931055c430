"""Condensate pumps: flow at a lift, run and rest times, and whether one is large enough."""

import numpy as np
from numpy.typing import ArrayLike

from catchpan.units.span import FloatArray, within


def pump_flow_m3_s(
    free_flow_m3_s: ArrayLike, shutoff_lift_m: ArrayLike, lift_m: ArrayLike
) -> FloatArray:
    """Return the flow of a small pump at a lift.

    Parameters
    ----------
    free_flow_m3_s : array_like
        Flow without lift [m3/s], 0 to 0.01.
    shutoff_lift_m : array_like
        Lift at which nothing comes out any more [m], 0.1 to 50.
    lift_m : array_like
        Lift from the tank's level to the highest point of the tube [m], 0 to 100.

    Returns
    -------
    FloatArray
        Flow [m3/s]; 0 at and above the shut-off lift.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Notes
    -----
    Quadratic head curve ``lift = shutoff (1 - (flow/free flow)**2)``; friction in the tube is left
    out.

    Source: assumed; usual shape for a small centrifugal pump.
    """
    free = within("free flow", free_flow_m3_s, 0.0, 0.01, "m3/s")
    shutoff = within("shut-off lift", shutoff_lift_m, 0.1, 50.0, "m")
    lift = within("lift", lift_m, 0.0, 100.0, "m")
    return free * np.sqrt(np.maximum(1.0 - lift / shutoff, 0.0))


def pump_cycle_s(
    band_m3: ArrayLike, inflow_m3_s: ArrayLike, pump_m3_s: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Return how long a pump rests and runs in turn.

    Parameters
    ----------
    band_m3 : array_like
        Water between the float's stop and start levels [m3], 0 to 0.1.
    inflow_m3_s : array_like
        Condensate [m3/s], 0 to 0.01.
    pump_m3_s : array_like
        Pump flow at the lift [m3/s], 0 to 0.01.

    Returns
    -------
    rest : FloatArray
        Time from stop to start [s]; infinite without inflow.
    run : FloatArray
        Time from start to stop [s]; infinite when the pump cannot keep up.

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    """
    band = within("float band", band_m3, 0.0, 0.1, "m3")
    inflow = within("inflow", inflow_m3_s, 0.0, 0.01, "m3/s")
    net = within("pump flow", pump_m3_s, 0.0, 0.01, "m3/s") - inflow
    rest = np.where(inflow > 0, band, np.inf) / np.where(inflow > 0, inflow, 1.0)
    return rest, np.where(net > 0, band, np.inf) / np.where(net > 0, net, 1.0)


def pump_is_large_enough(
    pump_m3_s: ArrayLike, condensate_m3_s: ArrayLike, lift_m: ArrayLike, shutoff_lift_m: ArrayLike
) -> np.ndarray:
    """Say whether a pump has the usual reserve.

    Parameters
    ----------
    pump_m3_s : array_like
        Flow at the actual lift [m3/s], 0 to 0.01.
    condensate_m3_s : array_like
        Most condensate [m3/s], 0 to 0.01.
    lift_m, shutoff_lift_m : array_like
        Actual and shut-off lift [m], 0 to 100.

    Returns
    -------
    numpy.ndarray of bool
        Flow at least twice the condensate, and lift at most 80 % of shut-off.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: common practice, no source.
    """
    flow = within("pump flow", pump_m3_s, 0.0, 0.01, "m3/s")
    need = 2.0 * within("condensate", condensate_m3_s, 0.0, 0.01, "m3/s")
    most = 0.8 * within("shut-off lift", shutoff_lift_m, 0.0, 100.0, "m")
    return (flow >= need) & (within("lift", lift_m, 0.0, 100.0, "m") <= most)
