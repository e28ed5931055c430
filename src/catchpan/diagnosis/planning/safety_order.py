"""What must come before what, so that nobody gets hurt: hard rules, no weights.

* Work that needs the power off is never proposed without switching off and proving dead first.
* Stored charge is taken off after the power and before the hands.
* On the phone the questions that may tell of danger come first, whatever they cost.
* An answer marked as danger (gas, carbon monoxide, smoke, water at live parts) stops the work: the
  only steps left are to leave and to hand over, until that reading is withdrawn or, on site only,
  the technician says that this danger was dealt with.
* On the phone a caller is asked questions and offered only what is marked safe for a caller, never
  anything behind a cover, at stored charge or needing the power off.
* What must be referred is offered as a referral, never as work to do.
* A repair that would defeat a safety device cannot be part of a family (see ``family``).

Common practice in the trade, no single source; local codes and the maker's instructions prevail.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from catchpan.diagnosis.inference.belief import outcome_position
from catchpan.diagnosis.worlds.family import (
    CALL_PREFIX,
    COVER_PREFIX,
    DISCHARGED,
    PHONE,
    POWER_OFF,
    POWER_ON,
    CheckModel,
    Family,
    RepairModel,
)

if TYPE_CHECKING:
    from catchpan.diagnosis.inference.belief import Belief, Reading
    from catchpan.diagnosis.planning.situation import Situation

SWITCH_OFF: Final = "switch off and prove dead"
DISCHARGE: Final = "discharge the capacitor and prove it"
SWITCH_ON: Final = "close up what is live, stand clear and switch on"
LEAVE: Final = (
    "everyone out of the danger",
    "touch no switch on the way",
    "call for help from outside",
)


@dataclass(frozen=True)
class Preparation:
    """What comes before a step: the acts in order, their minutes, and the situation after them."""

    acts: tuple[str, ...]
    minutes: float
    after: Situation


def needs_power_off(requires: frozenset[str]) -> bool:
    """Say whether the power must be off; stored charge is only ever handled with it off."""
    return POWER_OFF in requires or DISCHARGED in requires


@lru_cache(maxsize=1024)
def covers_of(requires: frozenset[str]) -> tuple[str, ...]:
    """Cover ids that must be off, in sorted order."""
    return tuple(
        sorted(r.removeprefix(COVER_PREFIX) for r in requires if r.startswith(COVER_PREFIX))
    )


def demand_of(requires: frozenset[str]) -> str:
    """Return the thermostat demand that must stand, or an empty string."""
    calls = sorted(r.removeprefix(CALL_PREFIX) for r in requires if r.startswith(CALL_PREFIX))
    return calls[0] if calls else ""


def cover_minutes(family: Family, cover: str) -> float:
    """Minutes to take a cover off; 0 if no place lists it."""
    return next((p.covers[cover] for p in family.places.values() if cover in p.covers), 0.0)


@lru_cache(maxsize=1024)
def prepare(
    family: Family, situation: Situation, place: str, requires: frozenset[str], group: str = ""
) -> Preparation:
    """Everything to be done first, in the order that is safe: go, switch, discharge, open, call.

    Power goes off before a cover comes off when the work needs it off; when it needs power on,
    the cover comes off first with the power as it is.
    """
    acts: list[tuple[str, float]] = []
    if place not in (situation.place, PHONE):
        site = family.places[place]
        acts.append((f"go to {site.title[:1].lower()}{site.title[1:]}", site.travel_minutes))
    off, demand = needs_power_off(requires), demand_of(requires)
    if off and not situation.power_off:
        acts.append((SWITCH_OFF, family.power_minutes))
    covers = [c for c in covers_of(requires) if c not in situation.opened]
    acts += [(f"open {c.replace('_', ' ')}", cover_minutes(family, c)) for c in covers]
    if DISCHARGED in requires:
        acts.append((DISCHARGE, 1.0))
    live = POWER_ON in requires or bool(demand)
    if live and situation.power_off:
        acts.append((SWITCH_ON, family.power_minutes))
    if demand and demand != situation.demand:
        acts.append((f"set the thermostat to {demand}", family.call_minutes))
    if family.group_minutes.get(group, 0.0) > 0.0 and group not in situation.set_up:
        acts.append((f"set up the {group.replace('-', ' ')}", family.group_minutes[group]))
    after = replace(
        situation,
        place=situation.place if place == PHONE else place,
        opened=situation.opened | set(covers),
        power_off=off or (situation.power_off and not live),
        demand=demand or situation.demand,
        set_up=situation.set_up | ({group} if group else set()),
    )
    return Preparation(tuple(a for a, _ in acts), sum(m for _, m in acts), after)


def check_allowed(check: CheckModel, situation: Situation) -> bool:
    """Say whether the check may be proposed at all in this situation."""
    if check.id in situation.done or check.id in situation.deferred or check.proof:
        return False
    if needs_power_off(check.requires) and POWER_ON in check.requires:
        return False
    if not situation.on_phone:
        return check.place != PHONE
    return check.phone and not _only_for_technicians(check.requires)


def proof_allowed(proof: CheckModel, situation: Situation) -> bool:
    """Say whether a proof that is owed may be made now; a caller proves what a caller mended."""
    if proof.id in situation.deferred:
        return False
    return not (situation.on_phone and _only_for_technicians(proof.requires))


def repair_allowed(repair: RepairModel, situation: Situation) -> bool:
    """Say whether the repair may be proposed (as work, or as a referral on site)."""
    if repair.id in situation.done or repair.id in situation.deferred or repair.defeats_safety:
        return False
    if not situation.on_phone:
        return True
    return repair.caller_safe and not repair.refer and not _only_for_technicians(repair.requires)


def standing_dangers(belief: Belief, situation: Situation) -> tuple[Reading, ...]:
    """Return the readings of all stages that mean danger and were not dealt with on site."""
    cleared = frozenset[str]() if situation.on_phone else situation.cleared
    made = [r for r in (*belief.earlier, *belief.readings) if r.check_id not in cleared]
    return tuple(r for r in made if _is_danger(belief.family, r))


def screens_danger(family: Family, check_id: str, situation: Situation) -> bool:
    """Say whether this is a question about danger on the phone, which comes before all others."""
    check = family.checks.get(check_id)
    return situation.on_phone and check is not None and any(o.danger for o in check.outcomes)


def _is_danger(family: Family, reading: Reading) -> bool:
    check = family.checks[reading.check_id]
    return check.outcomes[outcome_position(check, reading)].danger


def _only_for_technicians(requires: frozenset[str]) -> bool:
    return needs_power_off(requires) or bool(covers_of(requires))
