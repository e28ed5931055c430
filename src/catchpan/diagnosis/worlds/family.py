"""The compiled family of worlds: what could be wrong, what every check would read, what repairs do.

A family is plain data that does not change while a call goes on. All arrays have one row per world,
in the order of ``Family.worlds``; no two worlds have the same conditions, setting and calm.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from catchpan.units.errors import EXIT_BROKEN_DATA, CatchpanError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from catchpan.diagnosis.worlds.panel import Panel
    from catchpan.diagnosis.worlds.panel_quantity import PanelLook

OTHER: Final = "none-of-these"
"""Condition and root of the worlds that stand for everything outside the library."""

LIKELIHOOD_FLOOR: Final = 1e-6
"""No reading is impossible in any world: an instrument or a person can always be wrong."""

PHONE: Final = "phone"
"""Id of the place where questions are asked before anyone travels."""

POWER_OFF: Final = "power_off"
POWER_ON: Final = "power_on"
DISCHARGED: Final = "discharged"
"""``requires`` token: stored charge (a capacitor) is in reach of the hands."""
COVER_PREFIX: Final = "cover:"
CALL_PREFIX: Final = "call:"

ROOT: Final = "root"
CONSEQUENCE: Final = "consequence"
LATENT: Final = "latent"


class BadFamily(CatchpanError):  # noqa: N818 - reads as a claim where it is raised
    """A compiled family that contradicts itself; the data or the compiler must be put right."""

    exit_code: ClassVar[int] = EXIT_BROKEN_DATA

    def __init__(self, where: str, problem: str, expected: str) -> None:
        super().__init__(problem, hint=f"wanted {expected}", where=where)


@dataclass(frozen=True)
class World:
    """One complete hypothesis.

    Parameters
    ----------
    conditions
        Ids of every condition present: roots, what they left behind, latent defects.
    roots
        The part of ``conditions`` that arose by itself.
    setting
        Index into ``Family.settings``: which values the unknown options have here.
    calm
        What comes and goes is there but does not show just now: every reading of the moment is
        that of the system without it. The world in which it shows is the ``Family.twin``.
    """

    conditions: frozenset[str]
    roots: frozenset[str]
    setting: int
    calm: bool = False


@dataclass(frozen=True)
class Outcome:
    """One possible answer of a check; a numeric outcome is the bin ``low <= value < high`` (SI).

    ``danger`` marks an answer after which the only next step is to leave or to hand over.
    """

    id: str
    label: str
    low: float | None = None
    high: float | None = None
    danger: bool = False


@dataclass(frozen=True, eq=False)
class NumericReading:
    """What an instrument would show in every world, so that a value is weighed by its density.

    Parameters
    ----------
    mean_si, sd_si
        Shape (n_worlds,): expected value and the joint spread of plant, model and instrument.
        ``inf`` as a mean stands for an over-limit display (an open circuit on an ohmmeter).
    dead
        Shape (n_worlds,), bool: nothing can be predicted here (the machine stands still and the
        quantity means nothing), so any value within the span is equally likely.
    low_si, high_si
        The span of values an instrument on this job could show; by default the finite means
        with three spreads on either side.
    slip
        Share of readings that are plain mistakes (wrong terminal, wrong scale); spread evenly
        over the span. Assumed 0.02, no source.
    unit
        The unit technicians use, for display only.
    """

    mean_si: NDArray[np.float64]
    sd_si: NDArray[np.float64]
    dead: NDArray[np.bool_]
    low_si: float | None = None
    high_si: float | None = None
    slip: float = 0.02
    unit: str = ""

    @cached_property
    def span_si(self) -> float:
        """Width of the span of possible values, above 0."""
        known = np.isfinite(self.mean_si) & ~self.dead
        mean, reach = self.mean_si[known], 3.0 * self.sd_si[known]
        low = self.low_si if self.low_si is not None else float(np.min(mean - reach, initial=0.0))
        high = self.high_si
        if high is None:
            high = float(np.max(mean + reach, initial=low))
        return high - low if high > low else 1.0


@dataclass(frozen=True, eq=False)
class CheckModel:
    """Something that can be asked, looked at or measured, with its likelihood in every world.

    Parameters
    ----------
    table
        Shape (n_worlds, n_outcomes): P(outcome | world); rows sum to 1, entries >= 1e-6.
    minutes
        Minutes of the reading itself, without travel, covers, power switching or group set-up.
    requires
        Tokens ``power_off``, ``power_on``, ``discharged``, ``cover:<id>``, ``call:<demand>``.
    group
        Readings got by one set-up ("gauges"); its minutes are in ``Family.group_minutes``.
    proof
        An acceptance test: proposed only where a repair still owes it.
    keeps_outside
        Rows of worlds outside the library are meant as they stand; else all answers are alike.
    look
        What it reads off the panel of the running circuit: ``Belief.table`` says what to expect.
    """

    id: str
    title: str
    place: str
    minutes: float
    outcomes: tuple[Outcome, ...]
    table: NDArray[np.float32]
    numeric: NumericReading | None = None
    requires: frozenset[str] = frozenset()
    hazard_cost: float = 0.0
    phone: bool = False
    group: str = ""
    proof: bool = False
    keeps_outside: bool = False
    look: PanelLook | None = None

    def outcome_index(self, outcome_id: str) -> int | None:
        """Position of the outcome with that id, or None."""
        return next((i for i, o in enumerate(self.outcomes) if o.id == outcome_id), None)


@dataclass(frozen=True)
class RepairModel:
    """An action that removes conditions.

    ``fixes`` are the conditions it removes with probability ``success``; ``proofs`` are ids of
    the checks that prove it. ``refer`` marks work that is handed to someone licensed or equipped
    for it; ``caller_safe`` marks what a caller may do alone on the phone (never both).
    ``defeats_safety`` marks an action that would put a protective device out of action: a family
    that holds one is refused.
    """

    id: str
    title: str
    place: str
    minutes: float
    dollars: float
    fixes: frozenset[str]
    success: float = 0.95
    hazard_cost: float = 0.0
    requires: frozenset[str] = frozenset()
    refer: bool = False
    proofs: tuple[str, ...] = ()
    caller_safe: bool = False
    defeats_safety: bool = False


@dataclass(frozen=True)
class PlaceModel:
    """Somewhere on the site; going there costs ``travel_minutes``, each cover its minutes once."""

    id: str
    title: str
    travel_minutes: float
    covers: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, eq=False)
class Family:
    """Every world, check, repair and place of one call, with the costs that tie them together.

    Parameters
    ----------
    log_prior
        Shape (n_worlds,): natural log of the prior; need not be normalised, must be finite.
    settings
        Option values for each ``World.setting``.
    kinds
        Condition id to ``root``, ``consequence`` or ``latent``; a missing one counts as root.
    call_back_dollars
        What leaving with the trouble unsolved costs, the hand-over included.
    cut_mass
        Prior mass left out when the family was compiled (reported, never hidden).
    dispatch_minutes
        Minutes to reach the site, paid once when the phone is left.
    power_minutes, call_minutes
        Minutes to switch off and prove dead (or restore), and to set a demand at the thermostat.
    proof_minutes
        Minutes of proof for a repair that names no proofs of its own.
    refer_minutes
        Minutes to write up and hand over.
    group_minutes
        Set-up minutes of a check group, paid once.
    group_after
        The group that goes before a group, as long as one of its checks is to be had.
    working
        Shape (n_worlds,): whether the system is seen to work just now, by the plant; by default
        it works where nothing is needed.
    lasting
        Shape (n_worlds,): whether it works and will go on working with everything that is there;
        by default wherever it works.
    struggling
        Shape (n_worlds,): it does not work, but runs and falls short by so little that whoever
        does not measure may take it for working; by default nowhere.
    harmless
        Conditions that by themselves keep nothing from working (a stain); they are put right,
        but a call does not wait for it.
    panels
        What instruments read together on the running circuit, by demand.
    repair_still_owed
        Whether whoever is called back has to be paid for the repair besides: a dear repair is no
        reason to leave.
    """

    worlds: tuple[World, ...]
    log_prior: NDArray[np.float64]
    settings: tuple[Mapping[str, str], ...]
    checks: Mapping[str, CheckModel]
    repairs: Mapping[str, RepairModel]
    places: Mapping[str, PlaceModel]
    kinds: Mapping[str, str]
    dollars_per_minute: float
    call_back_dollars: float
    cut_mass: float = 0.0
    dispatch_minutes: float = 25.0
    power_minutes: float = 4.0
    call_minutes: float = 1.0
    proof_minutes: float = 10.0
    refer_minutes: float = 10.0
    group_minutes: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    group_after: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    working: NDArray[np.bool_] | None = None
    lasting: NDArray[np.bool_] | None = None
    struggling: NDArray[np.bool_] | None = None
    harmless: frozenset[str] = frozenset()
    repair_still_owed: bool = False
    panels: Mapping[str, Panel] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        for problem in (*_world_problems(self), *_check_problems(self), *_repair_problems(self)):
            raise problem

    @cached_property
    def conditions(self) -> tuple[str, ...]:
        """Every condition id in sorted order; the columns of ``membership``."""
        return tuple(sorted(frozenset().union(*(w.conditions for w in self.worlds))))

    @cached_property
    def membership(self) -> NDArray[np.bool_]:
        """Shape (n_worlds, n_conditions): is the condition present in the world."""
        column = {c: j for j, c in enumerate(self.conditions)}
        matrix = np.zeros((len(self.worlds), len(column)), dtype=np.bool_)
        for i, world in enumerate(self.worlds):
            matrix[i, [column[c] for c in world.conditions]] = True
        return matrix

    @cached_property
    def index(self) -> Mapping[tuple[frozenset[str], int], int]:
        """World position by (conditions, setting); where two states exist, the one that shows."""
        shown = [(i, w) for i, w in enumerate(self.worlds) if not w.calm]
        return {(w.conditions, w.setting): i for i, w in shown}

    @cached_property
    def twin(self) -> NDArray[np.intp]:
        """Shape (n_worlds,): the same world in its other state; itself where it has only one."""
        states = {(w.conditions, w.setting, w.calm): i for i, w in enumerate(self.worlds)}
        other = [(w.conditions, w.setting, not w.calm) for w in self.worlds]
        return np.array([states.get(key, i) for i, key in enumerate(other)], dtype=np.intp)

    @cached_property
    def log_state(self) -> NDArray[np.float64]:
        """Shape (n_worlds,): log of the share of moments at which a world is in its state."""
        both = np.logaddexp(self.log_prior, self.log_prior[self.twin])
        alone = self.twin == np.arange(len(self.worlds))
        return np.where(alone, 0.0, self.log_prior - both)

    @cached_property
    def other(self) -> NDArray[np.bool_]:
        """Shape (n_worlds,): is this a world outside the library; each setting has one."""
        return np.array([OTHER in w.conditions for w in self.worlds], dtype=np.bool_)

    @cached_property
    def outside(self) -> NDArray[np.intp]:
        """Shape (n_worlds,): the world outside the library in the same setting, else -1."""
        at = {self.worlds[i].setting: i for i in np.flatnonzero(self.other).tolist()}
        return np.array([at.get(w.setting, -1) for w in self.worlds], dtype=np.intp)

    @cached_property
    def needs(self) -> tuple[frozenset[str], ...]:
        """Per world, the conditions that must go: all but latent and harmless ones."""
        spared = {c for c in self.conditions if self.kinds.get(c) == LATENT} | self.harmless
        return tuple(w.conditions - spared for w in self.worlds)

    @cached_property
    def works(self) -> NDArray[np.bool_]:
        """Shape (n_worlds,): the system is seen to work just now."""
        if self.working is not None:
            return self.working
        return np.array([not need for need in self.needs], dtype=np.bool_)

    @cached_property
    def lasts(self) -> NDArray[np.bool_]:
        """Shape (n_worlds,): it works, and nothing that is there will stop it again.

        A limit that was reset, a pan that was emptied, a new fuse: the system runs, but with the
        filter clogged, the drain plugged, the short still there it does not last.
        """
        return self.works if self.lasting is None else self.lasting

    def after_repair(self, world: int, fixes: frozenset[str]) -> int | None:
        """Index of the world left when ``fixes`` are gone; None if the family holds none like it.

        Where the very world is absent, the most alike one with the same roots stands in for it,
        best one with nothing of what was fixed: where these roots are in no such world, they bring
        it back at once. What is left shows, or does not, as before.
        """
        start = self.worlds[world]
        left = start.conditions - fixes
        found = self.index.get((left, start.setting))
        if found is None:
            alike = self._by_roots.get((start.roots - fixes, start.setting), ())
            held = ((self.worlds[i].conditions, i) for i in alike)
            far = ((bool(c & fixes), len(c ^ left), i) for c, i in held)
            found = min(far, default=(False, 0, None))[2]
        if found is None or self.worlds[found].calm == start.calm:
            return found
        return int(self.twin[found])

    @cached_property
    def _by_roots(self) -> Mapping[tuple[frozenset[str], int], list[int]]:
        """World positions by (roots, setting)."""
        found: dict[tuple[frozenset[str], int], list[int]] = {}
        for i, world in enumerate(self.worlds):
            found.setdefault((world.roots, world.setting), []).append(i)
        return found

    def targets(self, fixes: frozenset[str]) -> NDArray[np.intp]:
        """Shape (n_worlds,): ``after_repair`` of every world, -1 where the target is absent."""
        result = np.arange(len(self.worlds), dtype=np.intp)
        columns = np.isin(self.conditions, list(fixes))
        for i in np.flatnonzero(self.membership[:, columns].any(axis=1)):
            target = self.after_repair(int(i), fixes)
            result[i] = -1 if target is None else target
        return result


def likelihood_table(family: Family, check: CheckModel) -> NDArray[np.float64]:
    """P(outcome | world), shape (n_worlds, n_outcomes): floored; rows sum to 1 as doubles."""
    table = np.maximum(check.table.astype(np.float64), LIKELIHOOD_FLOOR)
    table /= table.sum(axis=1, keepdims=True)
    if not check.keeps_outside:
        table[family.other] = 1.0 / len(check.outcomes)
    return table


def _world_problems(family: Family) -> list[BadFamily]:
    n = len(family.worlds)
    found = []
    if n == 0 or family.log_prior.shape != (n,) or not np.isfinite(family.log_prior).all():
        problem = f"shape {family.log_prior.shape} or not finite"
        found.append(BadFamily("log_prior", problem, f"({n},)"))
    if len({(w.conditions, w.setting, w.calm) for w in family.worlds}) != n:
        found.append(BadFamily("worlds", "two worlds are the same", "each must differ"))
    if any(not 0 <= w.setting < len(family.settings) for w in family.worlds):
        found.append(BadFamily("worlds", "a setting is missing", "index into settings"))
    return found


def _check_problems(family: Family) -> list[BadFamily]:
    n = len(family.worlds)
    found = []
    for check in family.checks.values():
        shape = (n, len(check.outcomes))
        if check.table.shape != shape:
            found.append(BadFamily(check.id, f"table has shape {check.table.shape}", f"{shape}"))
        elif not np.allclose(check.table.sum(axis=1), 1.0, atol=1e-3) or (check.table < 0).any():
            found.append(BadFamily(check.id, "table rows do not sum to 1", "probabilities"))
        found += _way_problems(family, check)
    return found


def _repair_problems(family: Family) -> list[BadFamily]:
    found = []
    for repair in family.repairs.values():
        found += _way_problems(family, repair)
        if not 0.0 < repair.success <= 1.0:
            found.append(BadFamily(repair.id, f"success {repair.success:g}", "above 0, at most 1"))
        if repair.refer and repair.caller_safe:
            found.append(BadFamily(repair.id, "both refer and caller_safe", "one of them"))
        if repair.defeats_safety:
            found.append(BadFamily(repair.id, "would defeat a safety device", "leave it out"))
    return found


def _way_problems(family: Family, item: CheckModel | RepairModel) -> list[BadFamily]:
    """Find places, covers and tokens that nobody defined: they would silently cost nothing."""
    found = []
    if item.place not in family.places and item.place != PHONE:
        found.append(BadFamily(item.id, f"unknown place {item.place!r}", "a known place"))
    covers = {COVER_PREFIX + c for p in family.places.values() for c in p.covers}
    known = covers | {POWER_OFF, POWER_ON, DISCHARGED}
    for token in sorted(t for t in item.requires - known if not t.startswith(CALL_PREFIX)):
        wanted = f"one of {', '.join(sorted(known))} or {CALL_PREFIX}<demand>"
        found.append(BadFamily(item.id, f"requires unknown {token!r}", wanted))
    return found
