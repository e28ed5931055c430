"""What the world outside the library makes of readings: "none of these" neither starves nor wins.

Nothing is known of it, so every answer is as likely as any other; but what was read before a repair
of ours it mostly shows again, and all that is read at one moment together speaks for it no more
than tenfold. What a look may still change of its share is reckoned by the same rules, so that no
look is made for the sake of a share that it cannot move.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

STAYS: Final = 0.7
"""Chance that a check shows outside the library what it showed before a repair (assumed):
no repair of ours has touched it, so the same answer once more is no new witness against it."""

MOST_FOR_OUTSIDE: Final = 10.0
"""How many times likelier one moment's readings may make "none of these" against the library
(assumed). They fit no fault of the library in two cases: the fault is outside of it, or whoever
said or read them was mistaken about more than one thing at once, the wrong unit, the wrong
terminals, a call that did not run; that is taken to happen on one moment in ten."""


def as_before(count: int, position: int) -> NDArray[np.float64]:
    """Chance of every answer outside the library where one of them was read before a repair.

    Parameters
    ----------
    count, position
        How many answers there are, and which one it was.
    """
    chance = np.full(count, (1.0 - STAYS) / count)
    chance[position] += STAYS
    return chance


def excess_for_outside(
    other: NDArray[np.bool_], before: NDArray[np.float64], after: NDArray[np.float64]
) -> float:
    """Log of how much more a moment says for the worlds outside than it may; 0 where less.

    ``before`` and ``after`` are log weights, shape (n_worlds,).
    """
    gain = log_sum(after[other]) - log_sum(before[other])
    gain -= log_sum(after[~other]) - log_sum(before[~other])
    return max(gain - float(np.log(MOST_FOR_OUTSIDE)), 0.0)


def as_weighed(
    outside: NDArray[np.float64],
    library: NDArray[np.float64],
    starts: NDArray[np.intp],
    excess: float,
) -> NDArray[np.float64]:
    """Chance of every answer outside the library, as the belief will weigh it at this moment.

    Where the readings of the moment say more against the library than they may, an answer that
    fits it is believed first to have been that much too much, and moves nothing.

    Parameters
    ----------
    outside
        Shape (rows, n_columns): chance of every answer there, checks side by side.
    library
        Shape (n_columns,): the same in the library, by its present shares.
    starts
        Shape (n_checks,): first column of each check.
    excess
        Log of how much more the moment's readings say for outside than they may.
    """
    weighed = np.minimum(outside, np.exp(-excess) * library)
    count = np.diff(np.append(starts, len(library)))
    total = np.repeat(np.add.reduceat(weighed, starts, axis=1), count, axis=1)
    result: NDArray[np.float64] = weighed / np.maximum(total, np.finfo(np.float64).tiny)
    return result


def log_sum(values: NDArray[np.float64]) -> float:
    """Log of the sum of the exponentials, without overflow."""
    top = float(values.max())
    return top + float(np.log(np.exp(values - top).sum()))
