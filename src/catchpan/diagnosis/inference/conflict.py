"""Readings that do not fit together: which ones, with which, and the cheapest one to repeat.

A rare fault is no conflict. What counts is whether *any* world of the library, however rare,
explains all readings about as well as each could be explained alone. The measure is the misfit

    d_i(w) = log max_v L_i(v) - log L_i(w)   (nats, never negative; v runs over all worlds)

summed over the readings at the library's best-fitting world. What comes and goes is one state at
each moment: a world's misfit at a moment is that of its better state for *all* readings of that
moment, so an intermittent fault cannot explain one reading by showing and the next by not.

Noisy answers misfit a little even when everything is right, so the sum is compared with what that
world itself would lead one to expect: a conflict is declared when the misfit exceeds the
expectation by more than ``THRESHOLD_SPREADS`` of its own standard deviations *and* by more than
``THRESHOLD_NATS``. Both thresholds are assumed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.inference.belief import log_likelihood, moments, outcome_position

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from catchpan.diagnosis.inference.belief import Belief, Reading

THRESHOLD_SPREADS: Final = 2.5
THRESHOLD_NATS: Final = 2.5
SUSPECT_NATS: Final = 1.5
"""A reading is suspect when leaving it out lowers the misfit by more than this."""


@dataclass(frozen=True)
class Suspect:
    """A reading under suspicion.

    ``relief`` (nats) is how much better the rest fits without it; ``surprise`` (nats) is how
    much less likely it is, given the others, than the answer that was most to be expected;
    ``against`` are the positions of the readings it contradicts; ``repeat_cost`` is in dollars.
    """

    position: int
    reading: Reading
    relief: float
    surprise: float
    against: tuple[int, ...]
    repeat_cost: float


@dataclass(frozen=True)
class Conflict:
    """Readings that no world explains together; suspects by relief, the cheapest to repeat."""

    misfit: float
    expected: float
    suspects: tuple[Suspect, ...]
    repeat: Suspect | None


def find_conflict(belief: Belief) -> Conflict | None:
    """Find the conflict among the readings of the present stage, or None if they fit together."""
    readings = belief.readings
    if len(readings) < 2 or belief.family.other.all():
        return None
    misfit = _misfits(belief)
    everything = list(range(len(readings)))
    summed = _summed(belief, misfit, everything)
    best = int(summed.argmin())
    total = float(summed[best])
    mean, spread = _expected_misfit(belief, misfit, best)
    if total - mean <= max(THRESHOLD_NATS, THRESHOLD_SPREADS * spread):
        return None
    relief = [
        total - float(_summed(belief, misfit, [j for j in everything if j != i]).min())
        for i in everything
    ]
    suspects = [_suspect(belief, misfit, i, r) for i, r in enumerate(relief) if r > SUSPECT_NATS]
    suspects.sort(key=lambda s: (-s.relief, s.reading.check_id, s.position))
    return Conflict(total, mean, tuple(suspects), _cheapest(suspects))


def surprise(belief: Belief, position: int) -> float:
    """How much less likely a reading is, given the others, than the likeliest answer (nats)."""
    reading = belief.readings[position]
    expected = belief.without(position).predict(reading.check_id)
    column = outcome_position(belief.family.checks[reading.check_id], reading)
    return float(np.log(expected.max() / expected[column]))


def _misfits(belief: Belief) -> NDArray[np.float64]:
    """Shape (n_readings, n_worlds), in nats, never negative; endless outside the library."""
    rows = np.array([log_likelihood(belief.family, r) for r in belief.readings])
    result: NDArray[np.float64] = rows.max(axis=1, keepdims=True) - rows
    result[:, belief.family.other] = np.inf
    return result


def _by_moment(belief: Belief, positions: Sequence[int]) -> list[list[int]]:
    """Part positions of readings by moment."""
    moment = {r: k for k, part in enumerate(moments(belief.readings)) for r in part}
    parts: dict[int, list[int]] = {}
    for i in positions:
        parts.setdefault(moment[belief.readings[i]], []).append(i)
    return list(parts.values())


def _summed(
    belief: Belief, misfit: NDArray[np.float64], positions: Sequence[int]
) -> NDArray[np.float64]:
    """Sum the misfit of some readings, at every moment in the better state; shape (n_worlds,)."""
    total = np.zeros(misfit.shape[1])
    for part in _by_moment(belief, positions):
        here = misfit[part].sum(axis=0)
        total += np.minimum(here, here[belief.family.twin])
    return total


def _expected_misfit(belief: Belief, misfit: NDArray[np.float64], best: int) -> tuple[float, float]:
    """Mean and standard deviation of the summed misfit if the best-fitting world were true."""
    found = []
    for part in _by_moment(belief, range(len(misfit))):
        states = (best, int(belief.family.twin[best]))
        world = min(states, key=lambda w: float(misfit[part, w].sum()))
        found += [_mean_and_square(belief, i, misfit[i, world], world) for i in part]
    mean = sum(m for m, _ in found)
    return mean, float(np.sqrt(sum(v for _, v in found)))


def _mean_and_square(
    belief: Belief, position: int, found: float, world: int
) -> tuple[float, float]:
    """Mean and variance of a reading's misfit if a world were true."""
    reading, family = belief.readings[position], belief.family
    check = family.checks[reading.check_id]
    if reading.value_si is not None and check.numeric is not None:
        if check.numeric.dead[world]:
            return found, 0.0
        return 0.5, 0.5  # half a chi-square of one degree of freedom
    table = belief.table(check)
    chance = table[world]
    each = np.log(table.max(axis=0) / chance)
    mean = float(chance @ each)
    return mean, float(chance @ (each - mean) ** 2)


def _suspect(belief: Belief, misfit: NDArray[np.float64], position: int, relief: float) -> Suspect:
    reading, family = belief.readings[position], belief.family
    check = family.checks[reading.check_id]
    others = [j for j in range(len(misfit)) if j != position]
    against = tuple(
        j for j in others if _summed(belief, misfit, [position, j]).min() > SUSPECT_NATS
    )
    cost = check.minutes * family.dollars_per_minute + check.hazard_cost
    return Suspect(position, reading, relief, surprise(belief, position), against, cost)


def _cheapest(suspects: list[Suspect]) -> Suspect | None:
    """Choose the cheapest repeat among the suspects at least half as relieving as the first."""
    close = [s for s in suspects if s.relief >= 0.5 * suspects[0].relief]
    return min(close, key=lambda s: (s.repeat_cost, s.reading.check_id), default=None)
