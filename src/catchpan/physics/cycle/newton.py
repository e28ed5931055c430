"""Closing the circuit at many points at once.

First a damped Newton search on all three guesses together. For points that do not settle the
condensing temperature is bracketed instead: at a given one the other two equations are searched,
and the charge that the circuit would then hold grows with it, one way only. Points that would hold
too little even at the end of the property tables have no steady state below it.
"""

from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.cycle.circuit import Parts, Points, Start
from catchpan.physics.cycle.march import march
from catchpan.units.span import FloatArray

TOLERANCE: Final = 1e-6
"""Error to which the search goes on."""

GOOD_ENOUGH: Final = 1e-4
"""Error up to which a point counts as closed, far below any instrument's."""

CHUNK: Final = 10_000
"""Points marched together: more gain nothing, fewer pay too often for the calls."""

FEW: Final = 6
"""So many points are marched sooner one by one, on plain floats, than as arrays."""

FIRST_STEPS: Final = 16
"""After so many steps those that have not settled are gathered from all chunks."""

MOST_STEPS: Final = 40
SLOW: Final = 0.5
"""A step that leaves more of the squared error than this asks for new slopes."""

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

    def at(self, index: slice) -> "Closed":
        """Return some of the points."""
        return Closed(self.guess[:, index], self.error[index], self.marches)


def bounds(parts: Parts, points: Points) -> tuple[FloatArray, FloatArray]:
    """Return the lowest and highest guesses, each of shape (3, n)."""
    table = parts.table
    top = table.highest_dew_k - 0.3
    one = np.ones(points.count)
    warm, cold = points.evaporator_air.temperature_k, points.condenser_air.temperature_k
    wettest = -MOST_WETNESS * table.latent_at_ice_point_j_kg / 1000.0
    low = np.stack([213.2 * one, np.minimum(cold + 0.05, top - 1.0), wettest * one])
    high = np.stack([np.minimum(warm - 0.05, top - 5.0), top * one, 60.0 * one])
    return low, high


def starting_guess(parts: Parts, points: Points) -> FloatArray:
    """Return the start, shape (3, n): from what was learnt of the unit, or a usual one.

    Parameters
    ----------
    parts : Parts
        The circuit.
    points : Points
        The operating points.
    """
    start = parts.start
    if start is None:
        return usual_guess(parts, points)
    away = np.stack(points.conditions) - start.conditions[:, None]
    low, high = bounds(parts, points)
    return np.asarray(np.clip(start.guess[:, None] + start.by_condition @ away, low, high))


def usual_guess(parts: Parts, points: Points, attempt: int = 0) -> FloatArray:
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
    error, marches = np.full(points.count, np.inf), 0
    for begin in range(0, points.count, CHUNK):
        part = slice(begin, begin + CHUNK)
        some = points.at(part)
        guess[:, part], error[part], spent = _newton(parts, some, guess[:, part], most=FIRST_STEPS)
        marches += spent
    left = np.flatnonzero(error > TOLERANCE)
    if left.size:
        fresh = replace(parts, start=None)
        marches += _improve(fresh, points.at(left), guess[:, left], (guess, error, left))
    for attempt in (0, 1, 2) if parts.start else (1, 2):
        left = np.flatnonzero(error > TOLERANCE)
        if left.size == 0:
            return Closed(guess, error, marches)
        here = points.at(left)
        again = usual_guess(parts, here, attempt)
        marches += _improve(parts, here, again, (guess, error, left))
    left = np.flatnonzero(error > TOLERANCE)
    if left.size:
        here = points.at(left)
        found, spent = _bracketed(parts, here)
        marches += spent + _improve(parts, here, found, (guess, error, left))
        still = left[error[left] > TOLERANCE]
        guess[:, still] = found[:, error[left] > TOLERANCE]
        error[still] = np.abs(_gone_round(parts, points.at(still), guess[:, still])).max(axis=0)
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
    """Halve the span of condensing temperatures until the charge fits.

    Where even the highest does not hold the charge, that end is the answer.
    """
    low, high = (ends[1].copy() for ends in bounds(parts, points))
    best, marches = _pinned(parts, points, high)
    left = np.flatnonzero(_gone_round(parts, points, best)[2] >= 0.0)
    for _ in range(HALVINGS):
        if left.size == 0:
            return best, marches
        here, pin = points.at(left), 0.5 * (low[left] + high[left])
        best[:, left], spent = _pinned(parts, here, pin, best[:, left])
        marches += spent + 1
        short = _gone_round(parts, here, best[:, left])[2] < 0.0
        low[left], high[left] = np.where(short, pin, low[left]), np.where(short, high[left], pin)
    return best, marches


def _pinned(
    parts: Parts, points: Points, pin: FloatArray, known: FloatArray | None = None
) -> tuple[FloatArray, int]:
    """Close everything but the charge at given condensing temperatures.

    ``known`` is what closed at other ones, to begin with.
    """
    best, error, marches = starting_guess(parts, points), np.full(points.count, np.inf), 0
    starts = [usual_guess(parts, points, attempt) for attempt in range(len(STARTS))]
    most = MOST_STEPS if known is None else FIRST_STEPS
    for begin in starts if known is None else [known, starts[0]]:
        left = np.flatnonzero(error > TOLERANCE)
        if left.size == 0:
            break
        start = begin[:, left].copy()
        start[1] = pin[left]
        found, reached, spent = _newton(parts, points.at(left), start, pin[left], most)
        better = reached < error[left]
        best[:, left[better]], error[left[better]] = found[:, better], reached[better]
        marches += spent
    return best, marches


def _newton(
    parts: Parts,
    points: Points,
    start: FloatArray,
    pin: FloatArray | None = None,
    most: int = MOST_STEPS,
) -> tuple[FloatArray, FloatArray, int]:
    """Take quasi-Newton steps; a step that makes it worse is taken shorter.

    Slopes are taken by finite differences at the start, then kept up to date from what each step
    found (Broyden), and taken anew where that no longer helps.
    """
    low, high = bounds(parts, points)
    guess, error = start.copy(), np.full(points.count, np.inf)
    active = np.arange(points.count)
    base, f = start.copy(), _errors(parts, points, start, pin)
    slope, fresh = _first_slopes(parts, points, (base, f), pin)
    damp = np.ones(points.count)
    for done in range(4, most + 4):
        worst = np.abs(f).max(axis=0)
        guess[:, active], error[active] = base, worst
        going = (worst > TOLERANCE) & (damp > LEAST_DAMP)
        if not going.any():
            return guess, error, done
        if not going.all():
            active, damp, slope, fresh = active[going], damp[going], slope[going], fresh[going]
            base, f, points = base[:, going], f[:, going], points.at(going)
            low, high, pin = low[:, going], high[:, going], None if pin is None else pin[going]
        x = np.clip(base + _step(f, slope) * damp, low, high)
        new_f = _errors(parts, points, x, pin)
        was, now = (f**2).sum(axis=0), (new_f**2).sum(axis=0)
        better = now < was * (1.0 - 1e-4 * damp)
        slope = np.where(better[:, None, None], _updated(slope, x - base, new_f - f), slope)
        base, f = np.where(better, x, base), np.where(better, new_f, f)
        damp = np.where(better, np.minimum(1.0, damp * 2.0), damp * np.where(fresh, 0.4, 1.0))
        anew = (~better & ~fresh) | (better & (now > SLOW * was))
        fresh = anew | (fresh & ~better)
        left = np.flatnonzero(anew)
        if left.size:
            held = None if pin is None else pin[left]
            slope[left] = _slopes(parts, points.at(left), (base[:, left], f[:, left]), held)
    return guess, error, most


def _first_slopes(
    parts: Parts, points: Points, at: tuple[FloatArray, FloatArray], pin: FloatArray | None
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Return slopes to begin with, and whether they are of this very place."""
    n = points.count
    if parts.start is None or pin is not None:
        return _slopes(parts, points, at, pin), np.ones(n, dtype=np.bool_)
    return np.tile(parts.start.slope, (n, 1, 1)), np.zeros(n, dtype=np.bool_)


def learnt_start(parts: Parts, points: Points) -> Start:
    """Return a start learnt from solved neighbours of a point.

    Parameters
    ----------
    parts : Parts
        The circuit.
    points : Points
        The point, then eight that each differ from it in another condition, or mix of them.

    Returns
    -------
    Start
        For `Parts.start`.

    Source: ours.
    """
    found = close_circuit(parts, points).guess
    conditions = np.stack(points.conditions)
    moved, changed = (each[:, 1:] - each[:, :1] for each in (found, conditions))
    by_condition = np.asarray(np.linalg.solve(changed.T, moved.T).T)
    here, x = points.at(slice(0, 1)), found[:, :1]
    slope = _slopes(parts, here, (x, _errors(parts, here, x, None)), None)[0]
    return Start(conditions[:, 0], found[:, 0], by_condition, slope)


def _step(f: FloatArray, slope: FloatArray) -> FloatArray:
    """Return the Newton step, no part of it longer than is wise."""
    step = -np.linalg.solve(slope + 1e-9 * np.eye(3), f.T[:, :, None])[:, :, 0].T
    longest = np.abs(step / _LONGEST[:, None]).max(axis=0)
    return np.asarray(step / np.maximum(longest, 1.0))


def _updated(slope: FloatArray, moved: FloatArray, changed: FloatArray) -> FloatArray:
    """Return slopes (n, 3, 3) that agree with what a step found: the least change that does.

    Source: [broyden-1965], first method.
    """
    length = np.maximum((moved**2).sum(axis=0), 1e-30)
    surprise = changed.T - np.matmul(slope, moved.T[:, :, None])[:, :, 0]
    return np.asarray(slope + (surprise / length[:, None])[:, :, None] * moved.T[:, None, :])


def _errors(parts: Parts, points: Points, x: FloatArray, pin: FloatArray | None) -> FloatArray:
    """Return the errors (3, n)."""
    error = _gone_round(parts, points, x)
    if pin is not None:
        error[2] = (x[1] - pin) / 10.0
    return error


def _gone_round(parts: Parts, points: Points, x: FloatArray) -> FloatArray:
    """Return what does not close, shape (3, n); a few points one by one, on plain floats."""
    if points.count > FEW:
        return march(parts, points, x).error
    error = np.empty_like(x)
    guesses: list[Any] = x.T.tolist()
    for i, guess in enumerate(guesses):
        try:
            error[:, i] = march(parts, points.plain(i), guess).error
        except (ArithmeticError, ValueError):
            one = slice(i, i + 1)
            error[:, one] = march(parts, points.at(one), x[:, one]).error
    return error


def _slopes(
    parts: Parts, points: Points, at: tuple[FloatArray, FloatArray], pin: FloatArray | None
) -> FloatArray:
    """Return the errors' slopes (n, 3, 3) by finite differences."""
    x, f = at
    n = points.count
    moved = np.concatenate([x + nudge[:, None] for nudge in np.diag(_NUDGE)], axis=1)
    held = None if pin is None else np.tile(pin, 3)
    error = _errors(parts, points.at(np.tile(np.arange(n), 3)), moved, held)
    slopes = [(error[:, n * i : n * (i + 1)] - f).T / _NUDGE[i] for i in range(3)]
    return np.stack(slopes, -1)
