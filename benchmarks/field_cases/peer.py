"""Simple peers: rankings that need no plant, for comparison."""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import log, sqrt
from typing import Final

from benchmarks.field_cases.score import LEAST, FamilyOf, first_of, systems_of
from benchmarks.field_cases.told import FieldCase, Part
from catchpan.catalog.load import Catalog
from catchpan.diagnosis.cases.candidate import follow, root_shares

WORD: Final = re.compile(r"[a-z]{3,}")
EVEN: Final = 0.01
"""Added to every likeness, so that a fault without a common word is not ruled out."""


@dataclass(frozen=True)
class PeerScore:
    """Rank and share a peer gives to the truth."""

    rank: int | None
    share: float

    @property
    def log_score(self) -> float:
        """Natural log of the share given to the truth."""
        return log(max(self.share, LEAST))


def peers(told: FieldCase, data: Catalog, family_of: FamilyOf) -> Mapping[str, PeerScore]:
    """Score the case with every peer.

    Returns
    -------
    mapping of str to PeerScore
        ``uniform``: every root of the systems it may be alike. ``prior``: their rates alone.
        ``words``: rates times the likeness (cosine of word counts weighted by rarity) of what was
        told to each fault's title, plain sentence and reasons.
    """
    case = told.case(Part.TOLD, data)
    prior = root_shares(follow(systems_of(case, family_of), ()))
    record = told.record
    text = " ".join((record["system"], record["complaint"], *record["observations"]))
    alike = likeness(text, {name: _describe(name, data) for name in prior})
    rankings = {
        "uniform": dict.fromkeys(prior, 1.0),
        "prior": prior,
        "words": {name: prior[name] * (EVEN + alike[name]) for name in prior},
    }
    return {name: _score(told, shares) for name, shares in rankings.items()}


def _describe(name: str, data: Catalog) -> str:
    fault = data.faults[name]
    return " ".join((fault.title, fault.plain, *fault.why))


def likeness(text: str, documents: Mapping[str, str]) -> dict[str, float]:
    """Return how alike a text is to each document: cosine of word counts weighted by rarity."""
    counts = {name: _words(document) for name, document in documents.items()}
    seen = Counter(word for words in counts.values() for word in words)
    rarity = {word: log(len(counts) / n) for word, n in seen.items()}
    asked = _words(text)
    return {name: _cosine(asked, words, rarity) for name, words in counts.items()}


def _words(text: str) -> Counter[str]:
    return Counter(WORD.findall(text.lower()))


def _cosine(a: Mapping[str, int], b: Mapping[str, int], weight: Mapping[str, float]) -> float:
    norms = [sqrt(sum((n * weight.get(w, 0.0)) ** 2 for w, n in x.items())) for x in (a, b)]
    common = sum(n * b[w] * weight[w] ** 2 for w, n in a.items() if w in b)
    return common / (norms[0] * norms[1]) if min(norms) > 0.0 else 0.0


def _score(told: FieldCase, shares: Mapping[str, float]) -> PeerScore:
    """Score shares; names that share a place stand in the middle of it."""
    total, truth = sum(shares.values()), told.truth.either
    order = sorted(shares, key=lambda name: (-shares[name], name))
    rank = first_of(order, truth)
    if rank is not None:
        alike = [name for name in order if shares[name] == shares[order[rank - 1]]]
        ahead = order.index(alike[0])
        hits = len(truth & set(alike))
        rank = ahead + round((len(alike) + 1) / (hits + 1))
    return PeerScore(rank, sum(shares.get(name, 0.0) for name in truth) / total)


def peer_totals(scores: Sequence[PeerScore]) -> tuple[float, float, float, float]:
    """Return the shares first and among the first three, mean reciprocal rank and log score."""
    n = len(scores)
    ranks = [s.rank for s in scores]
    return (
        sum(r == 1 for r in ranks) / n,
        sum(r is not None and r <= 3 for r in ranks) / n,
        sum(1.0 / r for r in ranks if r is not None) / n,
        sum(s.log_score for s in scores) / n,
    )
