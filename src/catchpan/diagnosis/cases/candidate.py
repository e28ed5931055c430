"""The systems a case may be about, each with its belief after everything that was observed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import log
from typing import Final

import numpy as np

from catchpan.diagnosis.cases.case import ABSENT, Entry, Tried
from catchpan.diagnosis.inference.belief import Belief, Reading, log_likelihood, verdict_chance
from catchpan.diagnosis.inference.grouped import root_matrix
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family

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
            chance = before.probabilities() @ verdict_chance(self.family, worked=tried.worked)
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


def root_shares(candidates: Sequence[Candidate]) -> dict[str, float]:
    """Return the share of every root over all the systems it may be."""
    shares: dict[str, float] = {}
    for candidate in candidates:
        matrix, names = root_matrix(candidate.family)
        each = candidate.share * (candidate.belief.probabilities() @ matrix)
        for name, share in zip(names, each.tolist(), strict=True):
            shares[name] = shares.get(name, 0.0) + share
    return shares
