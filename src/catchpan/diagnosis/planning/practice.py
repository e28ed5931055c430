"""What the trade knows of steps beyond their costs and readings, drawn from the catalog once."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from catchpan.diagnosis.worlds.family import CALL_PREFIX

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catchpan.catalog.entry import CheckEntry
    from catchpan.catalog.load import Catalog

OTHER_DEMANDS: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {"cooling": frozenset({"heat", "emergency"}), "heating": frozenset({"cool"})}
)
"""What nobody runs at home in each season just to answer a question."""

LOOKED_OUT_FOR: Final = frozenset({"gas", "carbon-monoxide"})
"""Hazards to the people of the house: a proof that carries one is where they are looked out for."""


@dataclass(frozen=True)
class Practice:
    """What is known of the checks and conditions of a job; nothing by default.

    Parameters
    ----------
    lasting
        Checks whose answer stays true after a repair: history, options, what a reset did.
    returning
        Conditions that arise again at once while what brings them is there (a blown fuse).
    puts_back
        For checks that put a tripped or blown thing back: the conditions that are gone then.
    other_season
        Checks under the other kind of call: a caller cannot answer them now, and nobody heats a
        hot house to make them.
    looks_at
        What a question looks at; two with the same value ask one thing in other words.
    guarding
        Proofs that guard the people of the house: without them a call is never closed as done.
    """

    lasting: frozenset[str] = frozenset()
    returning: frozenset[str] = frozenset()
    puts_back: Mapping[str, frozenset[str]] = field(default_factory=lambda: MappingProxyType({}))
    other_season: frozenset[str] = frozenset()
    looks_at: Mapping[str, tuple[object, ...]] = field(default_factory=lambda: MappingProxyType({}))
    guarding: frozenset[str] = frozenset()

    def answered_alike(self, done: frozenset[str]) -> frozenset[str]:
        """Return the questions that ask for what another answer told, in other words."""
        told = {self.looks_at[c] for c in done if c in self.looks_at}
        return frozenset(c for c, seen in self.looks_at.items() if seen in told) - done


def practice_of(data: Catalog, season: str | None) -> Practice:
    """Return what the catalog knows for a call of a season (None: trouble with both)."""
    unseen = {"history", "reset", "option"}
    return Practice(
        lasting=frozenset(c.id for c in data.checks.values() if c.observe.quantity in unseen),
        returning=frozenset(
            f.id for f in data.faults.values() if any(a.after == "at_once" for a in f.arises)
        ),
        puts_back=MappingProxyType(
            {c.id: frozenset(c.observe.resets) for c in data.checks.values() if c.observe.resets}
        ),
        other_season=out_of_season(data, season),
        looks_at=MappingProxyType(
            {
                c.id: (c.observe.quantity, c.observe.of, c.observe.between, c.observe.demand)
                for c in data.checks.values()
                if c.observe.quantity not in unseen
            }
        ),
        guarding=frozenset(
            p.id for p in data.proofs.values() if not LOOKED_OUT_FOR.isdisjoint(p.hazards)
        ),
    )


def out_of_season(data: Catalog, season: str | None) -> frozenset[str]:
    """Return the checks a caller cannot answer in a season: they ask for the other kind of call.

    Parameters
    ----------
    data : Catalog
        The checks.
    season : str or None
        ``cooling`` or ``heating``: what the trouble is with; None where it is with both.
    """
    other = OTHER_DEMANDS.get(season or "", frozenset())
    return frozenset(c.id for c in data.checks.values() if call_to_answer(c) in other)


def call_to_answer(check: CheckEntry) -> str:
    """Return the call a question stands under; empty where it needs none."""
    demand = check.observe.demand
    needed = check.complaint or f"{CALL_PREFIX}{demand}" in check.requires
    return demand if needed else ""
