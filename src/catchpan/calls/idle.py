"""What is not worth anybody's time: questions of the other season, tries that mend nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from catchpan.diagnosis.worlds.family import CALL_PREFIX

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catchpan.catalog.entry import CheckEntry
    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.inference.belief import Belief

WORTH_TRYING: Final = 0.03
"""Share from which a try is worth a caller's trouble (assumed)."""

WORTH_DOING: Final = 0.005
"""Share from which a repair is worth a technician's time, however cheap it is (assumed)."""

OTHER_DEMANDS: Final[Mapping[str, frozenset[str]]] = {
    "cooling": frozenset({"heat", "emergency"}),
    "heating": frozenset({"cool"}),
}
"""What nobody runs at home in each season just to answer a question."""


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


def answered_alike(data: Catalog, done: frozenset[str]) -> frozenset[str]:
    """Return the questions that ask for what another answer already told, in other words."""
    told = {k for c in done if c in data.checks and (k := looked_at(data.checks[c]))}
    return frozenset(c.id for c in data.checks.values() if looked_at(c) in told) - done


def looked_at(check: CheckEntry) -> tuple[object, ...]:
    """Return what a question looks at in the plant; nothing where physics cannot show it."""
    seen = check.observe
    if seen.quantity in {"history", "reset", "option"}:
        return ()
    return seen.quantity, seen.of, seen.between, seen.demand


def idle_repairs(belief: Belief, *, on_phone: bool) -> frozenset[str]:
    """Return the repairs that hardly any world needs; on the phone all, once the system works.

    A try costs little, but each one that cannot help costs trust.
    """
    family, chance = belief.family, belief.probabilities()
    column = {c: j for j, c in enumerate(family.conditions)}
    least = WORTH_TRYING if on_phone else WORTH_DOING
    idle = set()
    for repair in family.repairs.values():
        mine = [column[c] for c in repair.fixes if c in column]
        share = float(chance[family.membership[:, mine].any(axis=1)].sum())
        if share < least or (on_phone and belief.verdict):
            idle.add(repair.id)
    return frozenset(idle)
