"""The blower against the air path: three kinds of motor on one wheel, all in closed form.

The wheel is described by its design point and by the laws of similar fans. With the speed ratio
n, flow ratio q and pressure ratio p to that point, ``phi = q/n`` and ``psi = p/n**2`` obey

    psi = s - (s - 1) phi**2             (quadratic fan curve, s = shut-off ratio)
    torque = n**2 (t + (1 - t) phi)      (a forward-curved wheel: more air, more torque)

Against a path ``p = r q**2`` this fixes ``phi = sqrt(s / (r + s - 1))`` whatever the motor does;
the motor then only sets the speed.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from catchpan.units.span import FloatArray, within


@dataclass(frozen=True)
class Blower:
    """A blower wheel and what it does at its design point.

    Parameters
    ----------
    design_flow_m3_s : array_like
        Air flow [m3/s].
    design_pressure_pa : array_like
        Total rise over the blower at that flow [Pa], internal parts included.
    design_power_w : array_like
        Electric power there [W].
    shutoff_ratio : array_like
        Pressure at no flow over design pressure, 1.05 to 5 (1.8: assumed, forward-curved wheel).
    idle_torque : array_like
        Torque at no flow over design torque, 0.05 to 1 (0.3: assumed).
    """

    design_flow_m3_s: ArrayLike
    design_pressure_pa: ArrayLike
    design_power_w: ArrayLike
    shutoff_ratio: ArrayLike = 1.8
    idle_torque: ArrayLike = 0.3


@dataclass(frozen=True)
class BlowerPoint:
    """Where a blower runs.

    Parameters
    ----------
    flow_m3_s : FloatArray
        Air flow [m3/s].
    pressure_pa : FloatArray
        Total rise over the blower [Pa].
    speed_ratio : FloatArray
        Speed over design speed.
    torque_ratio : FloatArray
        Shaft torque over design torque.
    power_w : FloatArray
        Electric power [W].
    """

    flow_m3_s: FloatArray
    pressure_pa: FloatArray
    speed_ratio: FloatArray
    torque_ratio: FloatArray
    power_w: FloatArray


def psc_point(
    blower: Blower,
    resistance_pa_s2_m6: ArrayLike,
    *,
    strength: ArrayLike = 1.0,
    synchronous_ratio: float = 1.116,
    density_ratio: ArrayLike = 1.0,
) -> BlowerPoint:
    """Operating point with a permanent-split-capacitor motor on one speed tap.

    Parameters
    ----------
    blower : Blower
        The wheel; its design point is on the strongest tap.
    resistance_pa_s2_m6 : array_like
        Resistance of the whole air path [Pa s2/m6], above 0 to infinite.
    strength : array_like, optional
        Motor torque at equal slip over that at design, 0 (dead) to 2: taps, a weak capacitor
        and low voltage (squared) lower it.
    synchronous_ratio : float, optional
        Synchronous over design speed, 1.01 to 2 (1200/1075 rpm for six poles).
    density_ratio : array_like, optional
        Air density over standard, 0.3 to 1.5.

    Returns
    -------
    BlowerPoint
        Shape by broadcasting.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Notes
    -----
    Torque proportional to slip, so ``d tau n**2 = strength (n_s - n)/(n_s - 1)``, a quadratic in n.
    Input power follows the air-gap power, torque times synchronous speed: choke the path and the
    power falls. Not for a stalled or nearly stalled motor.

    Source: [ours] induction motor at small slip on similar-fan laws.
    """
    phi, tau = _wheel(blower, resistance_pa_s2_m6)
    density = _density(density_ratio)
    slip = within("synchronous ratio", synchronous_ratio, 1.01, 2.0, "") - 1.0
    pull = within("motor strength", strength, 0.0, 2.0, "") / slip
    load = tau * density
    speed = (np.sqrt(pull**2 + 4 * load * pull * (1.0 + slip)) - pull) / (2 * load)
    torque = load * speed**2
    return _point(blower, phi, speed, torque, density, torque)


def constant_torque_point(
    blower: Blower,
    resistance_pa_s2_m6: ArrayLike,
    *,
    torque: ArrayLike = 1.0,
    most_speed: ArrayLike = 1.5,
    density_ratio: ArrayLike = 1.0,
) -> BlowerPoint:
    """Operating point with an electronic motor that holds its torque.

    Parameters
    ----------
    blower : Blower
        The wheel.
    resistance_pa_s2_m6 : array_like
        Resistance of the whole air path [Pa s2/m6], above 0 to infinite.
    torque : array_like, optional
        Torque of the tap over design torque, 0 to 2.
    most_speed : array_like, optional
        Speed limit of the motor over design speed, 0.5 to 3 (1.5: assumed).
    density_ratio : array_like, optional
        Air density over standard, 0.3 to 1.5.

    Returns
    -------
    BlowerPoint
        Shape by broadcasting. Choke the path and speed and power rise.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: [ours] constant torque on similar-fan laws.
    """
    phi, tau = _wheel(blower, resistance_pa_s2_m6)
    density = _density(density_ratio)
    held = within("motor torque", torque, 0.0, 2.0, "")
    limit = within("speed limit", most_speed, 0.5, 3.0, "")
    speed = np.minimum(np.sqrt(held / (tau * density)), limit)
    shaft = tau * density * speed**2
    return _point(blower, phi, speed, shaft, density, shaft * speed)


def constant_airflow_point(  # noqa: PLR0913 - the limits belong to the motor
    blower: Blower,
    resistance_pa_s2_m6: ArrayLike,
    *,
    flow_m3_s: ArrayLike,
    most_speed: ArrayLike = 1.5,
    most_power: ArrayLike = 1.8,
    density_ratio: ArrayLike = 1.0,
) -> BlowerPoint:
    """Operating point with an electronic motor that holds the air flow until it meets a limit.

    Parameters
    ----------
    blower : Blower
        The wheel.
    resistance_pa_s2_m6 : array_like
        Resistance of the whole air path [Pa s2/m6], above 0 to infinite.
    flow_m3_s : array_like
        Air flow it tries to hold [m3/s], 0 to 10.
    most_speed, most_power : array_like, optional
        Limits over design speed, 0.5 to 3, and over design power, 0.5 to 5 (assumed).
    density_ratio : array_like, optional
        Air density over standard, 0.3 to 1.5.

    Returns
    -------
    BlowerPoint
        Shape by broadcasting. Choke the path and speed and power rise, then the flow gives way.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: [ours] similar-fan laws.
    """
    phi, tau = _wheel(blower, resistance_pa_s2_m6)
    density = _density(density_ratio)
    ratio = within("air flow", flow_m3_s, 0.0, 10.0, "m3/s") / np.asarray(blower.design_flow_m3_s)
    wanted = np.where(phi > 0, ratio / np.where(phi > 0, phi, 1.0), np.where(ratio > 0, np.inf, 0))
    power = np.cbrt(within("power limit", most_power, 0.5, 5.0, "") / (tau * density))
    limit = np.minimum(within("speed limit", most_speed, 0.5, 3.0, ""), power)
    speed = np.minimum(wanted, limit)
    shaft = tau * density * speed**2
    return _point(blower, phi, speed, shaft, density, shaft * speed)


def psc_current_a(
    design_current_a: ArrayLike, torque_ratio: ArrayLike, *, idle_share: float = 0.4
) -> FloatArray:
    """Return the current of a permanent-split-capacitor blower motor at a load.

    Parameters
    ----------
    design_current_a : array_like
        Current at the design point [A], 0 to 100.
    torque_ratio : array_like
        Shaft torque over design torque, 0 to 3.
    idle_share : float, optional
        Share of the design current that flows without load, 0 to 1 (0.4: assumed).

    Returns
    -------
    FloatArray
        Current [A]; falls when the air path is choked.

    Raises
    ------
    OutOfRange
        If an input is outside its span.
    """
    idle = within("idle share", idle_share, 0.0, 1.0, "")
    load = within("torque ratio", torque_ratio, 0.0, 3.0, "")
    return within("design current", design_current_a, 0.0, 100.0, "A") * (idle + (1 - idle) * load)


def _wheel(blower: Blower, resistance_pa_s2_m6: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Flow coefficient and torque coefficient against a path."""
    flow = within("design flow", blower.design_flow_m3_s, 1e-4, 100.0, "m3/s")
    pressure = within("design pressure", blower.design_pressure_pa, 0.1, 1e4, "Pa")
    shutoff = within("shut-off ratio", blower.shutoff_ratio, 1.05, 5.0, "")
    idle = within("idle torque", blower.idle_torque, 0.05, 1.0, "")
    path = within("resistance", resistance_pa_s2_m6, 0.0, np.inf, "Pa s2/m6")
    phi = np.sqrt(shutoff / (path * flow**2 / pressure + shutoff - 1.0))
    return phi, idle + (1.0 - idle) * phi


def _density(ratio: ArrayLike) -> FloatArray:
    return within("density ratio", ratio, 0.3, 1.5, "")


def _point(  # noqa: PLR0913, PLR0917 - internal: the pieces of one point
    blower: Blower,
    phi: FloatArray,
    speed: FloatArray,
    torque: FloatArray,
    density: FloatArray,
    power: FloatArray,
) -> BlowerPoint:
    shutoff = np.asarray(blower.shutoff_ratio, dtype=np.float64)
    psi = shutoff - (shutoff - 1.0) * phi**2
    return BlowerPoint(
        np.asarray(blower.design_flow_m3_s) * phi * speed,
        np.asarray(blower.design_pressure_pa) * psi * speed**2 * density,
        speed,
        torque,
        within("design power", blower.design_power_w, 0.0, 1e5, "W") * power,
    )
