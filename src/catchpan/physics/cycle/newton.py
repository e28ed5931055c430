"""Closing the circuit at many points at once.

First a damped Newton search on all three guesses together. For points that do not settle the
condensing temperature is bracketed instead: at a given one the other two equations are searched,
and the charge that the circuit would then hold grows with it, one way only. Points that would hold
too little even at the end of the property tables have no steady state below it.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.cycle.circuit import Parts, Points
from catchpan.physics.cycle.march import march
from catchpan.units.span import FloatArray

TOLERANCE: Final = 1e-6
"""Error to which the search goes on."""

GOOD_ENOUGH: Final = 1e-4
"""Error up to which a point counts as closed, far below any instrument's."""

MOST_STEPS: Final = 30
LEAST_DAMP: Final = 1e-4
_NUDGE: Final = np.array([2e-5, 2e-5, 5e-5])
STARTS: Final = ((16.0, 11.0, 7.0), (25.0, 9.0, 25.0), (13.0, 18.0, 0.0), (40.0, 5.0, 40.0))
"""Suction below evaporator air [K], condensing above condenser air [K], suction gas [kJ/kg]."""

HALVINGS: Final = 18

MOST_WETNESS: Final = 0.8
"""Largest liquid share of the suction gas that is looked at."""

_LONGEST: Final = np.array([6.0, 8.0, 15.0])


@dataclass(frozen=True)
class Closed:
    """Where the search ended.

    Parameters
    ----------
    guess : FloatArray
        Shape (3, n), as `march` takes it.
    error : FloatArray
        Largest error left, shape (n,).
    marches : int
        How many times the whole circuit was gone round.
    """

    guess: FloatArray
    error: FloatArray
    marches: int


def bounds(parts: Parts, points: Points) -> tuple[FloatArray, FloatArray]:
    """Return the lowest and highest guesses, each of shape (3, n)."""
    table = parts.table
    top = table.log_pressures.nodes[-1] - 0.3
    one = np.ones(points.count)
    warm, cold = points.evaporator_air.temperature_k, points.condenser_air.temperature_k
    latent = table.saturation(table.dew_pressure_pa(np.asarray(273.15))).latent_j_kg
    wettest = -MOST_WETNESS * float(latent) / 1000.0
    low = np.stack([213.2 * one, np.minimum(cold + 0.05, top - 1.0), wettest * one])
    high = np.stack([np.minimum(warm - 0.05, top - 5.0), top * one, 60.0 * one])
    return low, high


def starting_guess(parts: Parts, points: Points, attempt: int = 0) -> FloatArray:
    """Return a plausible start, shape (3, n): a usual approach to each air stream.

    Parameters
    ----------
    parts : Parts
        The circuit.
    points : Points
        The operating points.
    attempt : int
        Which of `STARTS`: later ones are farther from a healthy machine.
    """
    low, high = bounds(parts, points)
    below, above, gas = STARTS[attempt]
    warm, cold = points.evaporator_air.temperature_k, points.condenser_air.temperature_k
    suction = np.minimum(warm - below, cold + above - 17.0)
    guess = np.stack([suction, cold + above, np.full_like(warm, gas)])
    return np.asarray(np.clip(guess, low, high))


def close_circuit(parts: Parts, points: Points, start: FloatArray | None = None) -> Closed:
    """Find the steady state of every point.

    Parameters
    ----------
    parts : Parts
        The circuit.
    points : Points
        The operating points.
    start : FloatArray, optional
        First guess, shape (3, n); `starting_guess` if not given.

    Returns
    -------
    Closed
        With the error that is left; points at the edge of the tables cannot close and keep one.

    Source: ours.
    """
    guess = starting_guess(parts, points) if start is None else start.copy()
    guess, error, marches = _newton(parts, points, guess)
    for attempt in (1, 2):
        left = np.flatnonzero(error > TOLERANCE)
        if left.size == 0:
            return Closed(guess, error, marches)
        here = points.at(left)
        marches += _improve(parts, here, starting_guess(parts, here, attempt), (guess, error, left))
    left = np.flatnonzero(error > TOLERANCE)
    if left.size:
        here = points.at(left)
        found, spent = _bracketed(parts, here)
        marches += spent + _improve(parts, here, found, (guess, error, left))
        still = left[error[left] > TOLERANCE]
        guess[:, still] = found[:, error[left] > TOLERANCE]
        error[still] = np.abs(march(parts, points.at(still), guess[:, still]).error).max(axis=0)
    return Closed(guess, error, marches)


def _improve(
    parts: Parts,
    points: Points,
    start: FloatArray,
    kept: tuple[FloatArray, FloatArray, NDArray[np.intp]],
) -> int:
    """Search from another start; keep, in place, what came out better."""
    guess, error, left = kept
    found, reached, marches = _newton(parts, points, start)
    better = reached < error[left]
    guess[:, left[better]], error[left[better]] = found[:, better], reached[better]
    return marches


def _bracketed(parts: Parts, points: Points) -> tuple[FloatArray, int]:
    """Halve the span of condensing temperatures until the charge fits."""
    low, high = (ends[1] for ends in bounds(parts, points))
    best = np.empty((3, points.count))
    marches = 0
    pin = high
    for _ in range(HALVINGS + 1):
        best, spent = _pinned(parts, points, pin)
        marches += spent + 1
        short = march(parts, points, best).error[2] < 0.0
        low, high = np.where(short, pin, low), np.where(short, high, pin)
        pin = 0.5 * (low + high)
    return best, marches


def _pinned(parts: Parts, points: Points, pin: FloatArray) -> tuple[FloatArray, int]:
    """Close everything but the charge at given condensing temperatures."""
    best, error, marches = starting_guess(parts, points), np.full(points.count, np.inf), 0
    for attempt in range(len(STARTS)):
        left = np.flatnonzero(error > TOLERANCE)
        if left.size == 0:
            break
        here = points.at(left)
        start = starting_guess(parts, here, attempt)
        start[1] = pin[left]
        found, reached, spent = _newton(parts, here, start, pin[left])
        better = reached < error[left]
        best[:, left[better]], error[left[better]] = found[:, better], reached[better]
        marches += spent
    return best, marches


def _newton(
    parts: Parts, points: Points, start: FloatArray, pin: FloatArray | None = None
) -> tuple[FloatArray, FloatArray, int]:
    """Take Newton steps; a step that makes it worse is taken shorter."""
    low, high = bounds(parts, points)
    guess, error = start.copy(), np.full(points.count, np.inf)
    active = np.arange(points.count)
    base, damp = guess.copy(), np.ones(points.count)
    f, slope = _with_slope(parts, points, base, pin)
    for done in range(1, MOST_STEPS + 1):
        worst = np.abs(f).max(axis=0)
        guess[:, active], error[active] = base, worst
        going = (worst > TOLERANCE) & (damp > LEAST_DAMP)
        if not going.any():
            return guess, error, done
        active, damp, slope = active[going], damp[going], slope[going]
        base, f = base[:, going], f[:, going]
        x = np.clip(base + _step(f, slope) * damp, low[:, active], high[:, active])
        held = None if pin is None else pin[active]
        new_f, new_slope = _with_slope(parts, points.at(active), x, held)
        better = (new_f**2).sum(axis=0) < (f**2).sum(axis=0) * (1.0 - 1e-4 * damp)
        base, f = np.where(better, x, base), np.where(better, new_f, f)
        slope = np.where(better[:, None, None], new_slope, slope)
        damp = np.where(better, np.minimum(1.0, damp * 2.0), damp * 0.4)
    return guess, error, MOST_STEPS


def _step(f: FloatArray, slope: FloatArray) -> FloatArray:
    """Return the Newton step, no part of it longer than is wise."""
    step = -np.linalg.solve(slope + 1e-9 * np.eye(3), f.T[:, :, None])[:, :, 0].T
    longest = np.abs(step / _LONGEST[:, None]).max(axis=0)
    return np.asarray(step / np.maximum(longest, 1.0))


def _with_slope(
    parts: Parts, points: Points, x: FloatArray, pin: FloatArray | None
) -> tuple[FloatArray, FloatArray]:
    """Return the errors (3, n) and their slopes (n, 3, 3) by finite differences."""
    n = points.count
    moved = np.concatenate([x, *(x + nudge[:, None] for nudge in np.diag(_NUDGE))], axis=1)
    error = march(parts, points.at(np.tile(np.arange(n), 4)), moved).error
    if pin is not None:
        error[2] = (moved[1] - np.tile(pin, 4)) / 10.0
    f = error[:, :n]
    slopes = [(error[:, n * i : n * (i + 1)] - f).T / _NUDGE[i - 1] for i in (1, 2, 3)]
    return f, np.stack(slopes, -1)
