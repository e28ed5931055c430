"""The systems a case may be about, each with its belief after everything that was observed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from math import log
from typing import Final

import numpy as np
from numpy.typing import NDArray

from catchpan.diagnosis.cases.case import ABSENT, Entry, Tried
from catchpan.diagnosis.inference.belief import PROOF_ERROR, Belief, Reading, log_likelihood
from catchpan.diagnosis.inference.causes import part_of
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import OTHER, ROOT, Family

NOT_HERE: Final = 0.05
"""Chance that somebody reports on a part that this kind of system does not have (assumed)."""


@dataclass(frozen=True, eq=False)
class Candidate:
    """One system it may be.

    Parameters
    ----------
    description
        The system.
    share
        Probability that it is this one, after everything observed.
    belief
        The belief about its worlds.
    log_evidence
        Log of how well this system foresaw everything observed, for comparison between systems.
    set_aside
        Positions of the entries of the history that this system has nothing for.
    """

    description: Description
    share: float
    belief: Belief
    log_evidence: float = 0.0
    set_aside: tuple[int, ...] = ()

    @property
    def family(self) -> Family:
        """Its compiled family."""
        return self.belief.family


@dataclass
class _Run:
    """A history followed through one family."""

    family: Family
    spans: Mapping[str, float]
    belief: Belief
    log_evidence: float = 0.0
    set_aside: list[int] = field(default_factory=list)

    def take(self, position: int, entry: Entry) -> None:
        if isinstance(entry, Tried):
            self._repair(position, entry)
        elif self._has(entry):
            self.belief = self.belief.observe(entry)
        else:
            self.set_aside.append(position)
            fits = entry.outcome_id == ABSENT and entry.check_id not in self.family.checks
            self.log_evidence += 0.0 if fits else log(NOT_HERE)

    def _has(self, reading: Reading) -> bool:
        check = self.family.checks.get(reading.check_id)
        if check is None:
            return False
        return reading.outcome_id is None or check.outcome_index(reading.outcome_id) is not None

    def _repair(self, position: int, tried: Tried) -> None:
        if tried.repair_id not in self.family.repairs:
            self.set_aside.append(position)
            return
        self.close_stage()
        before = self.belief.repair_tried(tried.repair_id, None)
        if tried.worked is not None:
            right = self.family.works == tried.worked
            chance = before.probabilities() @ np.where(right, 1.0 - PROOF_ERROR, PROOF_ERROR)
            self.log_evidence += log(max(float(chance), 1e-300))
        self.belief = self.belief.repair_tried(tried.repair_id, tried.worked)

    def close_stage(self) -> None:
        """Add how well the readings of this stage were foreseen, on a scale all systems share."""
        groups: dict[str, list[Reading]] = {}
        for reading in self.belief.readings:
            groups.setdefault(reading.check_id, []).append(reading)
        first = self.belief.start[0] - self.belief.log_weights[0]
        for check_id, repeats in groups.items():
            first += np.mean([log_likelihood(self.family, r)[0] for r in repeats])
            first += self._scale(check_id, repeats)
        self.log_evidence += float(first)

    def _scale(self, check_id: str, repeats: Sequence[Reading]) -> float:
        numeric = self.family.checks[check_id].numeric
        if numeric is None or repeats[0].value_si is None:
            return 0.0
        return log(self.spans.get(check_id, numeric.span_si) / numeric.span_si)


def follow(
    systems: Sequence[tuple[Description, float, Family]],
    history: Sequence[Entry],
    leave_out: int | None = None,
) -> tuple[Candidate, ...]:
    """Follow a history through every system it may be about.

    Parameters
    ----------
    systems : sequence of (Description, float, Family)
        With prior shares above 0.
    history : sequence of Reading or Tried
        In the order in which it happened.
    leave_out : int, optional
        Position of an entry to act as if it had not been made.

    Returns
    -------
    tuple of Candidate
        The likeliest first; shares sum to 1.
    """
    spans = _widest_spans([family for _, _, family in systems])
    runs = []
    for _, _, family in systems:
        run = _Run(family, spans, Belief.prior(family))
        for position, entry in enumerate(history):
            if position != leave_out:
                run.take(position, entry)
        run.close_stage()
        runs.append((run.belief, run.log_evidence, tuple(run.set_aside)))
    logs = np.array([log(s[1]) + run[1] for s, run in zip(systems, runs, strict=True)])
    shares = np.exp(logs - logs.max())
    shares /= shares.sum()
    found = [
        Candidate(system[0], float(share), *run)
        for system, share, run in zip(systems, shares, runs, strict=True)
    ]
    return tuple(sorted(found, key=lambda c: (-c.share, c.description.archetype)))


def _widest_spans(families: Sequence[Family]) -> dict[str, float]:
    spans: dict[str, float] = {}
    for family in families:
        for check in family.checks.values():
            if check.numeric is not None:
                spans[check.id] = max(spans.get(check.id, 0.0), check.numeric.span_si)
    return spans


@lru_cache(maxsize=8)
def _root_matrix(family: Family) -> tuple[NDArray[np.float32], tuple[str, ...]]:
    """Shape (n_worlds, n_roots): which roots each world holds."""
    held = [
        [c for c in w.conditions if c != OTHER and part_of(family, w, c) == ROOT]
        for w in family.worlds
    ]
    names = sorted({c for some in held for c in some})
    column = {name: j for j, name in enumerate(names)}
    matrix = np.zeros((len(held), len(names)), dtype=np.float32)
    for i, some in enumerate(held):
        matrix[i, [column[c] for c in some]] = 1.0
    return matrix, tuple(names)


def root_shares(candidates: Sequence[Candidate]) -> dict[str, float]:
    """Return the share of every root over all the systems it may be."""
    shares: dict[str, float] = {}
    for candidate in candidates:
        matrix, names = _root_matrix(candidate.family)
        each = candidate.share * (candidate.belief.probabilities() @ matrix)
        for name, share in zip(names, each.tolist(), strict=True):
            shares[name] = shares.get(name, 0.0) + share
    return shares


def share_of_any(candidates: Sequence[Candidate], roots: frozenset[str]) -> float:
    """Probability that at least one of some roots is there, 0 to 1."""
    total = 0.0
    for candidate in candidates:
        holds = np.array([bool(w.roots & roots) for w in candidate.family.worlds])
        total += candidate.share * float(candidate.belief.probabilities()[holds].sum())
    return min(total, 1.0)
