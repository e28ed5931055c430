"""Closing the circuit at one point, on plain floats: the same search without the cost of arrays.

It gives up where `catchpan.physics.cycle.newton` goes on: at points that do not settle at the first
try.
"""

from typing import Any, Final

from catchpan.physics.cycle.circuit import Parts, Points, Start
from catchpan.physics.cycle.march import Marched, march
from catchpan.physics.cycle.newton import LEAST_DAMP, MOST_WETNESS, SLOW, STARTS, TOLERANCE

MOST_STEPS: Final = 30
_NUDGES: Final = (2e-5, 2e-5, 5e-5)
_LONGEST: Final = (6.0, 8.0, 15.0)

Three = list[float]


def close_one(parts: Parts, point: Points) -> tuple[Three, float, Marched] | None:
    """Find the steady state of one point.

    Parameters
    ----------
    parts : Parts
        The circuit.
    point : Points
        Every field a plain float.

    Returns
    -------
    tuple or None
        The guess that closes it, the error left, and the state of the whole circuit there; None
        when it does not settle.

    Source: ours; slopes kept up to date by [broyden-1965].
    """
    try:
        return _search(parts, point)
    except (ArithmeticError, ValueError):
        return None


def _search(parts: Parts, point: Points) -> tuple[Three, float, Marched] | None:
    low, high = _ends(parts, point)
    start = parts.start
    x = _held(_usual(point) if start is None else _predicted(start, point), low, high)
    state = _march(parts, point, x)
    f = list(state.error)
    slope = _slopes(parts, point, x, f) if start is None else start.slope.tolist()
    fresh, damp = start is None, 1.0
    for _ in range(MOST_STEPS):
        worst = max(map(abs, f))
        if worst <= TOLERANCE:
            return x, worst, state
        if damp <= LEAST_DAMP:
            return None
        step = _step(f, slope)
        trial = _held([a + damp * b for a, b in zip(x, step, strict=True)], low, high)
        new_state = _march(parts, point, trial)
        found = list(new_state.error)
        was, now = _square(f), _square(found)
        better = now < was * (1.0 - 1e-4 * damp)
        if better:
            slope = _updated(slope, (x, trial), (f, found))
            x, f, state = trial, found, new_state
            damp = min(1.0, 2.0 * damp)
        elif fresh:
            damp *= 0.4
            continue
        fresh = not better or now > SLOW * was
        if fresh:
            slope = _slopes(parts, point, x, f)
    return None


def _march(parts: Parts, point: Points, x: Three) -> Marched:
    guess: Any = x
    return march(parts, point, guess)


def _slopes(parts: Parts, point: Points, x: Three, f: Three) -> list[Three]:
    """Return rows of slopes by finite differences."""
    columns = []
    for i, nudge in enumerate(_NUDGES):
        moved = list(x)
        moved[i] += nudge
        found = _march(parts, point, moved).error
        columns.append([(b - a) / nudge for a, b in zip(f, found, strict=True)])
    return [list(row) for row in zip(*columns, strict=True)]


def _step(f: Three, slope: list[Three]) -> Three:
    """Return the Newton step by Cramer's rule, no part of it longer than is wise."""
    (a, b, c), (d, e, g), (h, i, j) = slope
    minors = (e * j - g * i, g * h - d * j, d * i - e * h)
    whole = a * minors[0] + b * minors[1] + c * minors[2]
    p, q, r = f
    step = (
        p * minors[0] + q * (c * i - b * j) + r * (b * g - c * e),
        p * minors[1] + q * (a * j - c * h) + r * (c * d - a * g),
        p * minors[2] + q * (b * h - a * i) + r * (a * e - b * d),
    )
    longest = max(abs(part / whole) / most for part, most in zip(step, _LONGEST, strict=True))
    scale = -1.0 / (whole * max(longest, 1.0))
    return [scale * part for part in step]


def _updated(
    slope: list[Three], ends: tuple[Three, Three], errors: tuple[Three, Three]
) -> list[Three]:
    """Return the slopes with what a step found worked in."""
    moved = [b - a for a, b in zip(*ends, strict=True)]
    length = max(_square(moved), 1e-30)
    rows = []
    for row, before, after in zip(slope, *errors, strict=True):
        surprise = after - before - sum(a * b for a, b in zip(row, moved, strict=True))
        rows.append([a + surprise / length * b for a, b in zip(row, moved, strict=True)])
    return rows


def _square(x: Three) -> float:
    return x[0] * x[0] + x[1] * x[1] + x[2] * x[2]


def _held(x: Three, low: Three, high: Three) -> Three:
    return [min(max(a, b), c) for a, b, c in zip(x, low, high, strict=True)]


def _predicted(start: Start, point: Points) -> Three:
    away = [a - b for a, b in zip(point.conditions, start.conditions.tolist(), strict=True)]
    rows = zip(start.guess.tolist(), start.by_condition.tolist(), strict=True)
    return [float(a + sum(b * c for b, c in zip(row, away, strict=True))) for a, row in rows]


def _usual(point: Points) -> Three:
    below, above, gas = STARTS[0]
    warm, cold = float(point.evaporator_air.temperature_k), float(point.condenser_air.temperature_k)
    return [min(warm - below, cold + above - 17.0), cold + above, gas]


def _ends(parts: Parts, point: Points) -> tuple[Three, Three]:
    """Return the lowest and highest guesses, as `catchpan.physics.cycle.newton.bounds`."""
    table = parts.table
    top = table.highest_dew_k - 0.3
    warm, cold = float(point.evaporator_air.temperature_k), float(point.condenser_air.temperature_k)
    wettest = -MOST_WETNESS * table.latent_at_ice_point_j_kg / 1000.0
    low = [213.2, min(cold + 0.05, top - 1.0), wettest]
    return low, [min(warm - 0.05, top - 5.0), top, 60.0]
