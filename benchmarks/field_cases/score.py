"""How well a ranking of causes names the cause of a field case."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import log
from typing import Final

from benchmarks.field_cases.told import FieldCase, Part
from catchpan.catalog.load import Catalog
from catchpan.diagnosis.cases.candidate import Candidate, follow, root_shares
from catchpan.diagnosis.cases.case import Case, Entry, Tried
from catchpan.diagnosis.cases.weigh import SMALL, fixes_of
from catchpan.diagnosis.inference.causes import Share, rank_causes
from catchpan.diagnosis.inference.grouped import share_of_any, shares_of_parts, shares_of_repairs
from catchpan.diagnosis.worlds.compile_family import Size
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family

LEAST: Final = 1e-9
"""Share below which a truth counts as ruled out; keeps the log score finite."""

REPAIRS: Final = 3
"""So many repairs are listed, the likeliest to hit first."""

FamilyOf = Callable[[Description, Size], Family]


@dataclass(frozen=True)
class Hoped:
    """How well the model expects to do on some readings, were the world as it believes.

    The share it gives to its own first cause, to one of its first three, and the same for repairs
    and parts; and the mean natural log of the share of whichever root is there.
    """

    first: float
    three: float
    repair: float
    repairs: float
    part: float
    parts: float
    log_score: float


@dataclass(frozen=True)
class Score:
    """How the truth of one case stands in one ranking.

    Parameters
    ----------
    rank
        Position of the first root that counts as found, from 1; None if it is not listed. Where
        the cause names two faults and one of them was repaired on the way, the ranking before
        that repair counts too.
    rank_second
        The same for the other fault where the cause names two; None otherwise.
    share
        Share given to the truth: at least one of its roots is there.
    top
        The first three roots with their shares.
    part_rank
        Position of the part that was at fault, in the ranking of parts.
    repair_rank
        Position of a repair that puts the cause right, in the ranking of repairs.
    hoped
        What the model itself expects on these very readings.
    left_behind
        Share of each consequence the cause names besides.
    other
        Share of a cause outside the library.
    """

    rank: int | None
    rank_second: int | None
    share: float
    top: tuple[tuple[str, float], ...]
    part_rank: int | None
    repair_rank: int | None
    left_behind: Mapping[str, float]
    other: float
    hoped: Hoped

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

    def both_within(self, places: int) -> bool:
        """Whether both faults stand among the first so many."""
        return all(r is not None and r <= places for r in (self.rank, self.rank_second))


def systems_of(case: Case, family_of: FamilyOf) -> list[tuple[Description, float, Family]]:
    """Return the systems a case may be about, kept as large as ``weigh`` keeps them."""
    size = Size() if len(case.systems) == 1 else SMALL
    return [(d, share, family_of(d, size)) for d, share in case.systems]


def bare(description: Description) -> Description:
    """Leave out what changes rates alone, so that few families serve all cases."""
    options = {k: v for k, v in description.options.items() if k != "location"}
    pump = description.archetype.startswith("heat-pump")
    season = description.season or ("heating" if pump else "cooling")
    return Description(description.archetype, options, season=season)


def score_part(told: FieldCase, part: Part, data: Catalog, family_of: FamilyOf) -> Score:
    """Score one case with as much of it as the part says."""
    case = told.case(part, data)
    systems = systems_of(case, family_of)
    stages = _stages(case.history) if told.truth.second else [case.history]
    orders = [order_of(follow(systems, history)) for history in stages]
    return _score(told, follow(systems, case.history), orders, data)


def _stages(history: Sequence[Entry]) -> list[Sequence[Entry]]:
    """Return what was known before each repair that did not help, and in the end."""
    failed = [k for k, e in enumerate(history) if isinstance(e, Tried) and e.worked is False]
    return [*(history[:k] for k in failed), history]


def order_of(candidates: Sequence[Candidate]) -> tuple[str, ...]:
    """Return the roots, the likeliest first."""
    shares = root_shares(candidates)
    return tuple(sorted(shares, key=lambda name: (-shares[name], name)))


def _score(
    told: FieldCase,
    candidates: Sequence[Candidate],
    orders: Sequence[Sequence[str]],
    data: Catalog,
) -> Score:
    shares, truth = root_shares(candidates), told.truth
    beliefs = [(c.share, c.belief) for c in candidates]
    parts = shares_of_parts(beliefs, {f.id: f.component for f in data.faults.values()})
    fixes = fixes_of(data)
    repairs = shares_of_repairs(beliefs, fixes, REPAIRS)
    return Score(
        rank=best_of(orders, truth.found),
        rank_second=best_of(orders, truth.second),
        share=share_of_any(beliefs, truth.either),
        top=tuple((name, shares[name]) for name in orders[-1][:3]),
        part_rank=first_of([s.id for s in parts], truth.parts),
        repair_rank=next(
            (k for k, s in enumerate(repairs, start=1) if fixes[s.id] & truth.either), None
        ),
        left_behind={c: _share_left(candidates, c) for c in sorted(truth.left_behind)},
        other=sum(c.share * rank_causes(c.belief).other for c in candidates),
        hoped=Hoped(
            first=shares[orders[-1][0]],
            three=share_of_any(beliefs, frozenset(orders[-1][:3])),
            repair=repairs[0].probability,
            repairs=sum(s.probability for s in repairs),
            part=parts[0].probability,
            parts=share_of_any(
                beliefs,
                frozenset(f for f in shares if data.faults[f].component in _ids(parts[:3])),
            ),
            log_score=_expected_log(shares),
        ),
    )


def _ids(shares: Sequence[Share]) -> set[str]:
    return {s.id for s in shares}


def _expected_log(shares: Mapping[str, float]) -> float:
    """Mean log of the share of the root that is there, each as likely as its share says."""
    held = [s for s in shares.values() if s > 0.0]
    return sum(s * log(s) for s in held) / sum(held)


def first_of(order: Sequence[str], wanted: frozenset[str]) -> int | None:
    """Return the position of the first of some names, from 1."""
    return next((k for k, name in enumerate(order, start=1) if name in wanted), None)


def best_of(orders: Sequence[Sequence[str]], wanted: frozenset[str]) -> int | None:
    """Return the best position of the first of some names over several orders."""
    ranks = [first_of(order, wanted) for order in orders]
    return min((r for r in ranks if r is not None), default=None)


def _share_left(candidates: Sequence[Candidate], condition: str) -> float:
    total = 0.0
    for candidate in candidates:
        found = {s.id: s.probability for s in rank_causes(candidate.belief).consequences}
        total += candidate.share * found.get(condition, 0.0)
    return total


@dataclass(frozen=True)
class Totals:
    """Shares of the cases, and means over them."""

    cases: int
    first: float
    first_three: float
    repair_first: float
    repair_first_three: float
    part_first: float
    part_first_three: float
    reciprocal_rank: float
    log_score: float


def hoped(scores: Sequence[Score]) -> Totals:
    """Return what the model itself expects over some cases; it knows no reciprocal rank."""
    n = len(scores)

    def mean(of: Callable[[Hoped], float]) -> float:
        return sum(of(s.hoped) for s in scores) / n

    return Totals(
        cases=n,
        first=mean(lambda h: h.first),
        first_three=mean(lambda h: h.three),
        repair_first=mean(lambda h: h.repair),
        repair_first_three=mean(lambda h: h.repairs),
        part_first=mean(lambda h: h.part),
        part_first_three=mean(lambda h: h.parts),
        reciprocal_rank=float("nan"),
        log_score=mean(lambda h: h.log_score),
    )


def totals(scores: Sequence[Score]) -> Totals:
    """Sum up the scores of some cases; at least one."""
    n = len(scores)

    def share(right: Callable[[Score], bool]) -> float:
        return sum(map(right, scores)) / n

    return Totals(
        cases=n,
        first=share(lambda s: s.within(1)),
        first_three=share(lambda s: s.within(3)),
        repair_first=share(lambda s: s.repair_rank == 1),
        repair_first_three=share(lambda s: s.repair_rank is not None),
        part_first=share(lambda s: s.part_rank == 1),
        part_first_three=share(lambda s: s.part_rank is not None and s.part_rank <= 3),
        reciprocal_rank=sum(1.0 / s.best for s in scores if s.best is not None) / n,
        log_score=sum(s.log_score for s in scores) / n,
    )
