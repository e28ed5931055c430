"""Condensate traps: the geometry they need and what they do at a pan pressure."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from catchpan.units.span import FloatArray, within

WATER_WEIGHT_N_M3: Final = 9806.65
"""Weight of water that ties pressure to height [N/m3]: 1 in w.c. is 1 in of water."""

_INCH_M: Final = 0.0254
_MOST_PA: Final = 2500.0


@dataclass(frozen=True)
class TrapGeometry:
    """A trap's two heights.

    Parameters
    ----------
    outlet_drop_m : array_like
        How far the trap's outlet lies below the pan's outlet [m]; negative when above.
    seal_m : array_like
        Depth of water that bars the air, from the trap's outlet down to its dip [m].
    """

    outlet_drop_m: ArrayLike
    seal_m: ArrayLike


@dataclass(frozen=True)
class TrapState:
    """What a trap does.

    Parameters
    ----------
    standing_m : FloatArray
        Water that stands in the pan above the pan's outlet [m].
    sealed : numpy.ndarray of bool
        Whether water bars the air.
    drains : numpy.ndarray of bool
        Whether water leaves freely (nothing stands in the pan).
    """

    standing_m: FloatArray
    sealed: np.ndarray
    drains: np.ndarray


def required_trap(pan_static_pa: ArrayLike) -> TrapGeometry:
    """Return the trap a pan needs at its worst static pressure.

    Use the pressure with the blower at its highest cooling speed and a loaded filter. The
    equipment maker's instructions come first.

    Parameters
    ----------
    pan_static_pa : array_like
        Static pressure at the pan against the room [Pa], -2500 to 2500: negative on the suction
        side of the blower (draw-through), positive on its pressure side (blow-through).

    Returns
    -------
    TrapGeometry
        Least outlet drop and least seal [m].

    Raises
    ------
    OutOfRange
        If the pressure is outside its span.

    Notes
    -----
    Draw-through: drop = suction + 1 in, seal = half of it. Blow-through: seal = pressure, no
    extra inch in the published rule; drop 1/2 in (common practice, no source).

    Examples
    --------
    >>> trap = required_trap(-0.5 * 249.08891)
    >>> round(float(trap.outlet_drop_m) / 0.0254, 3), round(float(trap.seal_m) / 0.0254, 3)
    (1.5, 0.75)

    Source: [brusha-2001] fig. 1; two makers' manuals.
    """
    head = _head_m(pan_static_pa)
    drop = np.where(head < 0, np.abs(head) + _INCH_M, _INCH_M / 2)
    return TrapGeometry(drop, np.where(head < 0, drop / 2, head))


def trap_state(
    trap: TrapGeometry, pan_static_pa: ArrayLike, *, primed: ArrayLike = True
) -> TrapState:
    """Return what a trap does while the blower runs.

    Parameters
    ----------
    trap : TrapGeometry
        The trap as built; a seal of 0 means there is no trap.
    pan_static_pa : array_like
        Static pressure at the pan against the room [Pa], -2500 to 2500; 0 with the blower off.
    primed : array_like of bool, optional
        Whether the trap was full of water when the blower started.

    Returns
    -------
    TrapState
        Standing water [m], seal and drainage, shape by broadcasting.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Notes
    -----
    With suction head d the water on the pan side stands d above the trap's outlet: what of it
    exceeds the drop stands in the pan. At start both legs share the movement, so the seal holds
    while it is at least d/2. Without a seal the air rushing in keeps the water back: it stands up
    to d before it can leave (upper bound, ours). Under pressure the pan side is pushed down by d,
    so the seal must be at least d; blown out, the trap still drains but loses air.

    Source: [brusha-2001] for the behaviour; hydrostatics.
    """
    head = _head_m(pan_static_pa)
    drop = within("trap outlet drop", trap.outlet_drop_m, -1.0, 2.0, "m")
    seal = within("trap seal", trap.seal_m, 0.0, 2.0, "m")
    holds = np.where(head < 0, seal >= np.abs(head) / 2 - 1e-12, seal >= head - 1e-12)
    sealed = holds & (seal > 0) & np.asarray(primed, dtype=bool)
    suction = np.maximum(-head, 0.0)
    behind_seal = np.maximum(np.where(head < 0, suction, 0.0) - drop, 0.0)
    against_air = np.maximum(suction, np.maximum(-drop, 0.0))
    standing = np.where(sealed, behind_seal, against_air)
    return TrapState(standing, sealed, standing <= 1e-9)


def _head_m(pan_static_pa: ArrayLike) -> FloatArray:
    return within("pan static pressure", pan_static_pa, -_MOST_PA, _MOST_PA, "Pa") / (
        WATER_WEIGHT_N_M3
    )
