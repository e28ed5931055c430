"""What the belief says, in the words of the trade: causes, what they left behind, what lurks."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from catchpan.diagnosis.worlds.family import CONSEQUENCE, LATENT, OTHER, ROOT

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catchpan.diagnosis.inference.belief import Belief
    from catchpan.diagnosis.worlds.family import Family, World


@dataclass(frozen=True)
class Share:
    """A name and the probability that it holds, 0 to 1."""

    id: str
    probability: float


@dataclass(frozen=True)
class Causes:
    """The ranking of everything that may be wrong.

    Parameters
    ----------
    roots, consequences, latent
        Marginal share of each condition in that part, largest first, ties by id. They need not
        sum to 1: several may hold at once.
    pairs
        Share of each pair of roots that hold together ("a + b").
    several
        Share of all worlds with two roots or more.
    no_fault
        Share of the worlds in which nothing keeps the system from working, now or later.
    other
        Share of the world outside the library.
    settings
        For each option that is not known for certain: the share of each of its values.
    cut_mass
        Prior mass the compiled family left out.
    """

    roots: tuple[Share, ...]
    consequences: tuple[Share, ...]
    latent: tuple[Share, ...]
    pairs: tuple[Share, ...]
    several: float
    no_fault: float
    other: float
    settings: Mapping[str, tuple[Share, ...]]
    cut_mass: float

    @property
    def leading(self) -> Share:
        """The likeliest single statement: a root, no fault, or something outside the library."""
        named = (*self.roots[:1], Share("no-fault", self.no_fault), Share(OTHER, self.other))
        return max(named, key=lambda share: share.probability)


def part_of(family: Family, world: World, condition: str) -> str:
    """``root``, ``consequence`` or ``latent``: the part a condition plays in that world.

    The same condition (a blown fuse) can be the root of one world and left behind in another.
    """
    if family.kinds.get(condition) == LATENT:
        return LATENT
    return ROOT if condition in world.roots else CONSEQUENCE


def rank_causes(belief: Belief, limit: int | None = None) -> Causes:
    """Rank all causes under the belief; ``limit`` shortens each list, never the sums."""
    family, chance = belief.family, belief.probabilities()
    parts: dict[str, dict[str, float]] = {
        k: defaultdict(float) for k in (ROOT, CONSEQUENCE, LATENT)
    }
    pairs: dict[str, float] = defaultdict(float)
    several = 0.0
    for world, share in zip(family.worlds, chance.tolist(), strict=True):
        if OTHER in world.conditions:
            continue
        for condition in world.conditions:
            parts[part_of(family, world, condition)][condition] += share
        roots = sorted(c for c in world.roots if family.kinds.get(c) != LATENT)
        several += share if len(roots) > 1 else 0.0
        for one, two in combinations(roots, 2):
            pairs[f"{one} + {two}"] += share
    return Causes(
        roots=_ranked(parts[ROOT], limit),
        consequences=_ranked(parts[CONSEQUENCE], limit),
        latent=_ranked(parts[LATENT], limit),
        pairs=_ranked(pairs, limit),
        several=several,
        no_fault=float(chance[family.lasts].sum()),
        other=float(chance[family.other].sum()),
        settings=_settings(belief),
        cut_mass=family.cut_mass,
    )


def _ranked(shares: Mapping[str, float], limit: int | None) -> tuple[Share, ...]:
    ranked = sorted((Share(k, v) for k, v in shares.items()), key=lambda s: (-s.probability, s.id))
    return tuple(ranked[:limit])


def _settings(belief: Belief) -> Mapping[str, tuple[Share, ...]]:
    options: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for world, share in zip(belief.family.worlds, belief.probabilities().tolist(), strict=True):
        for option, value in belief.family.settings[world.setting].items():
            options[option][value] += share
    unknown = {option: values for option, values in options.items() if len(values) > 1}
    return {option: _ranked(values, None) for option, values in sorted(unknown.items())}
