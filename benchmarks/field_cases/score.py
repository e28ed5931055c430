"""How well a ranking of causes names the cause of a field case."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import log
from typing import Final

from benchmarks.field_cases.told import FieldCase, Part
from catchpan.catalog.load import Catalog
from catchpan.diagnosis.candidate import Candidate, follow, root_shares, share_of_any
from catchpan.diagnosis.case import Case, Entry
from catchpan.diagnosis.description import Description
from catchpan.diagnosis.family import CONSEQUENCE, Family
from catchpan.diagnosis.causes import rank_causes

LEAST: Final = 1e-9
"""Share below which a truth counts as ruled out; keeps the log score finite."""


@dataclass(frozen=True)
class Score:
    """How the truth of one case stands in one ranking.

    Parameters
    ----------
    rank
        Position of the first root that counts as found, from 1; None if it is not listed.
    rank_second
        The same for the other fault where the cause names two; None otherwise.
    share
        Share given to the truth: at least one of its roots is there.
    top
        The first three roots with their shares.
    part_right
        Whether the part of the first root is the part that was at fault.
    left_behind
        Share of each consequence the cause names besides.
    """

    rank: int | None
    rank_second: int | None
    share: float
    top: tuple[tuple[str, float], ...]
    part_right: bool
    left_behind: Mapping[str, float]
    other: float

    @property
    def log_score(self) -> float:
        """Natural log of the share given to the truth; 0 is perfect."""
        return log(max(self.share, LEAST))

    @property
    def best(self) -> int | None:
        """The better of the two ranks where the cause names two faults."""
        ranks = [r for r in (self.rank, self.rank_second) if r is not None]
        return min(ranks, default=None)

    def within(self, places: int) -> bool:
        """Whether the truth stands among the first so many."""
        return self.best is not None and self.best <= places


FamilyOf = Callable[[Description], Family]


def follow_case(case: Case, family_of: FamilyOf, history: Sequence[Entry]) -> tuple[Candidate, ...]:
    """Follow a history through every system the case may be about."""
    systems = [(d, share, family_of(d)) for d, share in case.systems]
    return follow(systems, history)


def score(told: FieldCase, candidates: Sequence[Candidate], data: Catalog) -> Score:
    """Score what is believed against what was the matter."""
    shares = root_shares(candidates)
    order = sorted(shares, key=lambda name: (-shares[name], name))
    truth = told.truth
    return Score(
        rank=first_of(order, truth.found),
        rank_second=first_of(order, truth.second),
        share=share_of_any(candidates, truth.either),
        top=tuple((name, shares[name]) for name in order[:3]),
        part_right=data.faults[order[0]].component in truth.parts,
        left_behind={c: _share_left(candidates, c) for c in sorted(truth.left_behind)},
        other=sum(c.share * rank_causes(c.belief).other for c in candidates),
    )


def first_of(order: Sequence[str], wanted: frozenset[str]) -> int | None:
    """Return the position of the first of some names, from 1."""
    return next((k for k, name in enumerate(order, start=1) if name in wanted), None)


def _share_left(candidates: Sequence[Candidate], condition: str) -> float:
    total = 0.0
    for candidate in candidates:
        found = {s.id: s.probability for s in rank_causes(candidate.belief).consequences}
        total += candidate.share * found.get(condition, 0.0)
    return total


def score_part(told: FieldCase, part: Part, data: Catalog, family_of: FamilyOf) -> Score:
    """Score one case with as much of it as the part says."""
    case = told.case(part, data)
    return score(told, follow_case(case, family_of, case.history), data)


@dataclass(frozen=True)
class Totals:
    """Shares of the cases, and means over them."""

    cases: int
    first: float
    first_three: float
    part_first: float
    reciprocal_rank: float
    log_score: float


def totals(scores: Sequence[Score]) -> Totals:
    """Sum up the scores of some cases; at least one."""
    n = len(scores)
    return Totals(
        cases=n,
        first=sum(s.within(1) for s in scores) / n,
        first_three=sum(s.within(3) for s in scores) / n,
        part_first=sum(s.part_right or s.within(1) for s in scores) / n,
        reciprocal_rank=sum(1.0 / s.best for s in scores if s.best is not None) / n,
        log_score=sum(s.log_score for s in scores) / n,
    )
