"""From what the plant shows to how likely each answer of a check is."""

import math
from collections.abc import Mapping, Sequence
from fnmatch import fnmatchcase

import numpy as np
from numpy.typing import NDArray

from catchpan.catalog.entry import AnswerEntry, ProofEntry
from catchpan.diagnosis.worlds.family import LIKELIHOOD_FLOOR

Table = NDArray[np.float64]

RESET_OUTCOMES = ("works", "trips-at-once", "trips-later", "no-change")
RESET_LABELS = (
    "It comes back and keeps working",
    "It trips or blows again at once",
    "It works for a while and trips again",
    "No change",
)

PROOF_RELIABILITY = 0.98
"""A proof is read wrongly, or off the wrong terminal, as seldom as any measurement (assumed)."""

_erf = np.vectorize(math.erf, otypes=[np.float64])


def normal_below(limit: float | None, shown: Table, spread: float) -> Table:
    """Chance that a reading around ``shown`` falls below a limit (none: always)."""
    if limit is None:
        return np.ones(len(shown))
    if spread <= 0.0:
        return (shown < limit).astype(np.float64)
    finite = np.where(np.isinf(shown), 1.0e30, shown)
    z = np.clip((limit - finite) / (spread * math.sqrt(2.0)), -30.0, 30.0)
    distinct, inverse = np.unique(z, return_inverse=True)
    return np.asarray(0.5 * (1.0 + _erf(distinct)))[inverse]


def answers_table(shown: Table, answers: Sequence[AnswerEntry], blur: float) -> Table:
    """P(answer | world), shape (worlds, answers), before people's mistakes.

    Parameters
    ----------
    shown : array, shape (worlds,)
        What the plant shows [SI].
    answers : sequence of AnswerEntry
        Half-open spans; together they cover the line.
    blur : float
        One-sigma spread of instrument, model and judgement [same unit]; 0 for none.
    """
    found = np.zeros((len(shown), len(answers)))
    for k, answer in enumerate(answers):
        low = normal_below(answer.low, shown, blur) if answer.low is not None else 0.0
        found[:, k] = np.maximum(normal_below(answer.high, shown, blur) - low, 0.0)
    return normalised(found)


def with_mistakes(table: Table, reliability: float) -> Table:
    """Mix in wrong answers: with chance ``1 - reliability`` any answer is equally likely."""
    mixed = reliability * table + (1.0 - reliability) / table.shape[1]
    return normalised(mixed)


def normalised(table: Table) -> Table:
    """Floor every entry and make the rows sum to 1."""
    floored = np.maximum(table, LIKELIHOOD_FLOOR)
    return np.asarray(floored / floored.sum(axis=1, keepdims=True))


def history_table(
    membership: NDArray[np.bool_], names: Sequence[str], answers: Sequence[AnswerEntry]
) -> Table:
    """P(answer | world) of what physics cannot know, shape (worlds, answers).

    Each answer but the last arises independently from its base chance and from each fault that
    brings it; the last answer is what remains. The chances are those of the answer as given, so
    people's mistakes are in them already.

    Parameters
    ----------
    membership : array of bool, shape (worlds, conditions)
        Which conditions each world holds.
    names : sequence of str
        The conditions, column by column.
    answers : sequence of AnswerEntry
        With their base chances and the faults that bring them.
    """
    found = np.zeros((len(membership), len(answers)))
    for k, answer in enumerate(answers[:-1]):
        base = answer.base.value if answer.base is not None else 0.0
        chance = np.array([_brings(answer, name) for name in names])
        active = np.flatnonzero(chance)
        silent = membership[:, active] @ np.log1p(-np.minimum(chance[active], 0.999))
        found[:, k] = 1.0 - (1.0 - base) * np.exp(silent)
    total = np.maximum(found.sum(axis=1, keepdims=True), 1e-9)
    found *= np.minimum(1.0, 0.98 / total)
    found[:, -1] = 1.0 - found.sum(axis=1)
    return normalised(found)


def _brings(answer: AnswerEntry, name: str) -> float:
    fitting = (g.chance.value for g in answer.given if fnmatchcase(name, g.fault))
    return max(fitting, default=0.0)


def option_table(values: Sequence[str], holds: Sequence[str], reliability: float) -> Table:
    """P(answer | world) of a question on how the system is built; ``holds`` has a row a world."""
    found = np.array([[1.0 if v == h else 0.0 for v in values] for h in holds])
    return with_mistakes(found, reliability)


def reset_table(
    present: NDArray[np.bool_],
    again: NDArray[np.int8],
    works: NDArray[np.bool_],
    reliability: float,
) -> Table:
    """P(outcome | world) of putting a tripped or blown thing back once and watching.

    Parameters
    ----------
    present : array of bool, shape (worlds,)
        Whether there is anything to put back.
    again : array of int8, shape (worlds,)
        Position in ``AFTER`` at which it trips again; 4 or more: it does not.
    works : array of bool, shape (worlds,)
        Whether the system works once it is put back.
    """
    found = np.zeros((len(present), len(RESET_OUTCOMES)))
    at_once = present & (again == 0)
    later = present & (again > 0) & (again < 4)
    found[at_once, 1] = 1.0
    found[later, 2] = np.where(again[later] < 2, 0.9, 0.45)
    found[later, 0] = np.where(works[later], 1.0 - found[later, 2], 0.0)
    found[later, 3] = np.where(works[later], 0.0, 1.0 - found[later, 2])
    holds = present & ~at_once & ~later
    found[holds & works, 0] = 1.0
    found[(holds & ~works) | ~present, 3] = 1.0
    return with_mistakes(found, reliability)


def proof_table(shown: Table, proof: ProofEntry) -> Table:
    """P(pass, fail, too close | world), with people's mistakes mixed in.

    What is read scatters by the proof's uncertainty about what the plant shows, and is too close
    to call where it lies within that uncertainty of a limit.
    """
    spread = proof.uncertainty.value

    def read_in(low: float | None, high: float | None) -> Table:
        below = normal_below(low, shown, spread) if low is not None else 0.0
        return np.maximum(normal_below(high, shown, spread) - below, 0.0)

    low = None if proof.low is None else proof.low + spread
    high = None if proof.high is None else proof.high - spread
    passing = np.zeros(len(shown)) if _crossed(low, high) else read_in(low, high)
    failing = np.zeros(len(shown))
    if proof.low is not None:
        failing += read_in(None, proof.low - spread)
    if proof.high is not None:
        failing += read_in(proof.high + spread, None)
    close = np.maximum(1.0 - passing - failing, 0.0)
    return with_mistakes(np.stack([passing, failing, close], axis=1), PROOF_RELIABILITY)


def _crossed(low: float | None, high: float | None) -> bool:
    return low is not None and high is not None and low >= high


def hazard_dollars(hazards: Sequence[str], weights: Mapping[str, float]) -> float:
    """Sum of the hazard weights of a step."""
    return sum(weights[h] for h in hazards)
