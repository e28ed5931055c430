"""The probability of every world given all readings and repairs so far; exact, in log space.

Conventions, all stated where they are coded:

* what comes and goes shows, or does not show, for all readings of one moment alike: all that a
  caller reports is one moment, all that a technician reads between two repairs is another, and
  before each moment the state is drawn anew;
* the world outside the library finds every answer of a check equally likely the first time, and
  after a repair mostly the answer from before it; all that is said or read at one moment together
  speaks for it no more than tenfold;
* repeats of one check are no independent witnesses: their mean log-likelihood counts once;
* readings of the running circuit go together: they are weighed jointly, by the family's panels;
* a repair begins a new stage: readings before it stay evidence about the state before it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from catchpan.diagnosis.inference.outside import (
    as_before,
    as_weighed,
    excess_for_outside,
    log_sum,
)
from catchpan.diagnosis.inference.panel_reading import CALLER_SLIP, is_of_panel, panel_views
from catchpan.diagnosis.inference.telling import likely_worlds
from catchpan.diagnosis.worlds.family import LIKELIHOOD_FLOOR, CheckModel, Family, likelihood_table
from catchpan.diagnosis.worlds.stacked import Apart, Stacked, stacked
from catchpan.units.errors import BadValue, UnknownName

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray

    from catchpan.diagnosis.worlds.panel_likelihood import PanelView
    from catchpan.diagnosis.worlds.panel_quantity import PanelLook

PROOF_ERROR: Final = 0.02
"""Chance that "it works now" or "it still fails" is judged wrongly after a repair (assumed)."""

TAKEN_FOR_WORKING: Final = 0.35
"""Chance that "it works now" is said of a system that runs and falls short (assumed): it is watched
for minutes, and no proof has measured it yet."""


Reporter = Literal["caller", "technician"]


@dataclass(frozen=True)
class Reading:
    """What was observed: an answer by id, or a value in SI with its own uncertainty.

    ``sd_si`` is the instrument's part where it is known better than the check assumes; it is
    added in squares to the spread of the check.
    """

    check_id: str
    outcome_id: str | None = None
    value_si: float | None = None
    sd_si: float | None = None
    reporter: Reporter = "technician"


@dataclass(frozen=True, eq=False)
class Belief:
    """The belief after some readings; observing returns a new one.

    Parameters
    ----------
    start
        Shape (n_worlds,): log weights when this stage began (the prior, or after a repair).
    readings
        The readings of this stage, in the order they came; the order does not matter.
    earlier
        Readings of former stages, already contained in ``start``.
    unmapped
        Share of belief that a repair sent to a world the family does not hold; it was given
        to the world outside the library.
    verdict
        Whether the system worked when it was last run and judged; None if it was not, or not
        since the last repair.
    """

    family: Family
    start: NDArray[np.float64]
    readings: tuple[Reading, ...] = ()
    earlier: tuple[Reading, ...] = ()
    unmapped: float = 0.0
    verdict: bool | None = None

    @classmethod
    def prior(cls, family: Family) -> Belief:
        """Belief before anything was observed."""
        return cls(family, family.log_prior - log_sum(family.log_prior))

    def observe(self, reading: Reading) -> Belief:
        """Belief with one more reading.

        Raises
        ------
        UnknownName
            The check or the answer does not exist.
        BadValue
            The reading holds neither an answer nor a usable number.
        """
        return self.observe_all((reading,))

    def observe_all(self, readings: Iterable[Reading]) -> Belief:
        """Belief with several more readings; their order does not matter."""
        added = tuple(readings)
        for reading in added:
            log_likelihood(self.family, reading)
        return replace(self, readings=self.readings + added)

    def without(self, position: int) -> Belief:
        """Belief as if the reading at that position of this stage had not been made."""
        rest = self.readings[:position] + self.readings[position + 1 :]
        return replace(self, readings=rest)

    @property
    def log_weights(self) -> NDArray[np.float64]:
        """Shape (n_worlds,): log of the normalised probability of every world."""
        return self._weighed[0]

    @cached_property
    def _weighed(self) -> tuple[NDArray[np.float64], Mapping[Reporter, float]]:
        """The log weights, and how much more each moment says for outside than it may (log)."""
        other, excess = self.family.other, dict[Reporter, float]()
        both = bool(other.any()) and not bool(other.all())
        total = drawn_anew(self.family, self.start)
        for k, moment in enumerate(moments(self.readings)):
            before = drawn_anew(self.family, total) if k > 0 else total
            total = before
            for group in _by_check(tuple(r for r in moment if not is_of_panel(self.family, r))):
                total = total + self._of_repeats(group)
            for view in self._views_of(moment).values():
                total = total + view.log_likelihood()
            if both:
                beyond = excess_for_outside(other, before, total)
                total = np.where(other, total - beyond, total)
                excess[moment[0].reporter] = beyond
        return total - log_sum(total), excess

    def _views_of(self, moment: tuple[Reading, ...]) -> Mapping[str, PanelView]:
        """Return the panels with what was read off them at one moment; the weather is the day's."""
        if not any(is_of_panel(self.family, r) for r in moment):
            return {}
        rest = tuple(r for r in self.readings if r not in moment)
        return panel_views(self.family, moment, (*self.earlier, *rest))

    @cached_property
    def side_by_side(self) -> Stacked:
        """The tables of all checks side by side, as they stand."""
        looks = [c for c in self.family.checks.values() if c.look is not None]
        read = {c.id: self.table(c) for c in looks if c.look is not None and self._is_read(c.look)}
        return stacked(self.family).replaced(read)

    def as_told_by(self, reporter: Reporter) -> Stacked:
        """Return the same tables, the world outside the library as this belief would weigh it.

        Parameters
        ----------
        reporter
            Whose answers are looked forward to: each one's make up a moment of their own.
        """
        found = self._told.get(reporter)
        if found is None:
            found = self._told[reporter] = self._as_told_by(reporter)
        return found

    def _as_told_by(self, reporter: Reporter) -> Stacked:
        known, outside = self.side_by_side, np.flatnonzero(self.family.other)
        excess = self._weighed[1].get(reporter, 0.0)
        before = self._read_before.keys() & known.spans.keys()
        if not (before or excess > 0.0) or len(outside) in (0, len(known.table)):
            return known
        rows = known.table[outside].copy()
        for name in before:
            check = self.family.checks[name]
            position = outcome_position(check, self._read_before[name])
            rows[:, known.spans[name]] = as_before(len(check.outcomes), position)
        if excess > 0.0:
            rows = as_weighed(rows, self._in_library(known), known.starts, excess)
        return replace(known, apart=Apart(outside, rows))

    def _in_library(self, known: Stacked) -> NDArray[np.float64]:
        """Shape (n_columns,): chance of every answer in the library, by the likeliest worlds."""
        likely, share = likely_worlds(self.probabilities())
        chance = np.where(self.family.other[likely], 0.0, share)
        total = max(float(chance.sum()), np.finfo(np.float64).tiny)
        result: NDArray[np.float64] = chance @ known.table[likely] / total
        return result

    @cached_property
    def _told(self) -> dict[Reporter, Stacked]:
        return {}

    @cached_property
    def views(self) -> Mapping[str, PanelView]:
        """What the running circuit would read now, by demand, given what was read off it."""
        return panel_views(self.family, self.readings, self.earlier)

    def table(self, check: CheckModel) -> NDArray[np.float64]:
        """P(answer | world) as it stands, shape (n_worlds, n_outcomes); rows sum to 1.

        Readings off one circuit go together: once some are taken, the next one is half known.
        """
        if check.look is None or not self._is_read(check.look):
            return likelihood_table(self.family, check)
        found = self._tables.get(check.id)
        if found is None:
            view = self.views[check.look.demand]
            outside = likelihood_table(self.family, check)[self.family.other]
            found = self._tables[check.id] = view.table(check.look, check.outcomes, outside)
        return found

    def _is_read(self, look: PanelLook) -> bool:
        """Whether anything was read that bears on the panel of a look."""
        view = self.views.get(look.demand)
        return view is not None and bool(view.taken or view.weather is not view.panel.usual)

    @cached_property
    def _tables(self) -> dict[str, NDArray[np.float64]]:
        return {}

    def _of_repeats(self, repeats: list[Reading]) -> NDArray[np.float64]:
        """Log-likelihood of the repeats of one check: their mean counts once."""
        check = _known_check(self.family, repeats[0].check_id)
        table = self.table(check)
        rows = [log_likelihood(self.family, reading, table) for reading in repeats]
        result: NDArray[np.float64] = np.mean(rows, axis=0)
        before = self._read_before.get(check.id)
        if before is not None:
            shown = np.log(as_before(len(check.outcomes), outcome_position(check, before)))
            now = [outcome_position(check, r) for r in repeats]
            result[self.family.other] = np.mean(shown[now])
        return result

    @cached_property
    def _read_before(self) -> dict[str, Reading]:
        """The last reading of every check in former stages."""
        return {r.check_id: r for r in self.earlier}

    def probabilities(self) -> NDArray[np.float64]:
        """Shape (n_worlds,), sums to 1."""
        weights: NDArray[np.float64] = np.exp(self.log_weights)
        weights /= weights.sum()
        return weights

    def predict(self, check_id: str) -> NDArray[np.float64]:
        """Shape (n_outcomes,): how likely each answer of the check is now."""
        check = _known_check(self.family, check_id)
        result: NDArray[np.float64] = self.probabilities() @ self.table(check)
        result /= result.sum()
        return result

    def repair_tried(
        self, repair_id: str, worked: bool | None, success: float | None = None
    ) -> Belief:
        """Belief about the state after a repair.

        Every world moves, with the repair's chance of success, to the world without the fixed
        conditions; then the result (``worked``: the system as a whole works now; None: not known
        yet) is weighed with ``PROOF_ERROR``. A target the family does not hold sends its share to
        the world outside the library and is counted in ``unmapped``; without such a world the
        share stays where it was.

        Parameters
        ----------
        success
            Chance that the repair did what it should, 0 to 1; default from the repair.
        """
        family = self.family
        if repair_id not in family.repairs:
            raise UnknownName("repair", repair_id, family.repairs)
        repair = family.repairs[repair_id]
        share = repair.success if success is None else min(max(success, 0.0), 1.0)
        moved, lost = _moved(family, self.probabilities(), family.targets(repair.fixes), share)
        start = np.log(np.maximum(moved, np.finfo(np.float64).tiny))
        past = self.earlier + self.readings
        after = Belief(family, start - log_sum(start), (), past, self.unmapped + lost)
        return after if worked is None else after.system_tried(worked)

    def system_tried(self, worked: bool) -> Belief:
        """Belief after the whole system was run and judged; see ``verdict_chance``."""
        start = self.start + np.log(verdict_chance(self.family, worked=worked))
        return replace(self, start=start, verdict=worked)


def verdict_chance(family: Family, *, worked: bool) -> NDArray[np.float64]:
    """Return the chance that somebody who ran the system says so, shape (n_worlds,)."""
    works = np.where(family.works, 1.0 - PROOF_ERROR, PROOF_ERROR)
    if family.struggling is not None:
        works = np.where(family.struggling, TAKEN_FOR_WORKING, works)
    return works if worked else 1.0 - works


def moments(readings: Iterable[Reading]) -> list[tuple[Reading, ...]]:
    """Part the readings of a stage by moment: what the caller reports, what is read on site."""
    made = tuple(readings)
    parts = [tuple(r for r in made if r.reporter == who) for who in ("caller", "technician")]
    return [part for part in parts if part]


def drawn_anew(family: Family, log_weights: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the log weights when it is open again whether what comes and goes shows."""
    alone = family.twin == np.arange(len(family.twin))
    both = np.logaddexp(log_weights, log_weights[family.twin]) + family.log_state
    return np.where(alone, log_weights, both)


def log_likelihood(
    family: Family, reading: Reading, table: NDArray[np.float64] | None = None
) -> NDArray[np.float64]:
    """Log-likelihood of one reading in every world, shape (n_worlds,); finite.

    A value is weighed by its density, scaled so that the world outside the library gets
    ``1 / n_outcomes`` as it does for an answer. Of the running circuit's readings it is the
    likelihood of this one alone; ``table`` is what an answer is looked up in, if not the family's.
    """
    check = _known_check(family, reading.check_id)
    if check.look is not None and is_of_panel(family, reading):
        view = panel_views(family, (reading,))[check.look.demand]
        return np.maximum(view.log_likelihood(), np.log(LIKELIHOOD_FLOOR))
    if reading.value_si is not None and check.numeric is not None:
        likelihood = _scaled_density(family, check, reading)
    else:
        column = outcome_position(check, reading)
        known = likelihood_table(family, check) if table is None else table
        likelihood = known[:, column]
    if reading.reporter == "caller" and not check.phone:
        likelihood = (1.0 - CALLER_SLIP) * likelihood + CALLER_SLIP / len(check.outcomes)
    return np.log(np.maximum(likelihood, LIKELIHOOD_FLOOR))


def outcome_position(check: CheckModel, reading: Reading) -> int:
    """Position of the outcome a reading stands for: its answer, or the bin its value falls in."""
    if reading.outcome_id is not None and reading.value_si is None:
        found = check.outcome_index(reading.outcome_id)
        if found is None:
            known = [o.id for o in check.outcomes]
            raise UnknownName("answer", reading.outcome_id, known, where=check.id)
        return found
    if reading.value_si is None or np.isnan(reading.value_si):
        raise BadValue(check.id, "no answer and no number", "an answer or a number")
    gaps = [_gap(o.low, o.high, reading.value_si) for o in check.outcomes]
    if np.isinf(min(gaps)):
        raise BadValue(check.id, "a number, but its answers are words", "one of its answers")
    return int(np.argmin(gaps))


def _gap(low: float | None, high: float | None, value: float) -> float:
    """How far a value lies outside a bin: 0 inside, a hair above 0 on the open upper end."""
    if low is None and high is None:
        return np.inf
    value = float(np.clip(value, -1e300, 1e300))
    below = 0.0 if low is None else low - value
    above = -np.inf if high is None else value - min(high, 2e300)
    return max(below, above, 1e-300 if above == 0.0 else 0.0)


def _known_check(family: Family, check_id: str) -> CheckModel:
    if check_id not in family.checks:
        raise UnknownName("check", check_id, family.checks)
    return family.checks[check_id]


def _by_check(readings: tuple[Reading, ...]) -> list[list[Reading]]:
    """Group readings by check in a fixed order, so that the sum never depends on theirs."""
    groups: Mapping[str, list[Reading]] = {r.check_id: [] for r in readings}
    for reading in readings:
        groups[reading.check_id].append(reading)
    return [sorted(groups[check_id], key=repr) for check_id in sorted(groups)]


def _scaled_density(family: Family, check: CheckModel, reading: Reading) -> NDArray[np.float64]:
    numeric, value = check.numeric, reading.value_si
    if numeric is None or value is None or np.isnan(value):
        raise BadValue(check.id, "no number", "a number")
    span, open_end = numeric.span_si, np.isinf(numeric.mean_si)
    if np.isinf(value):
        hit = np.where(open_end, 1.0 - numeric.slip, numeric.slip)
        return np.where(numeric.dead | family.other, 1.0 / len(check.outcomes), hit)
    spread = np.maximum(np.hypot(numeric.sd_si, reading.sd_si or 0.0), 1e-9 * span)
    mean = np.where(open_end, 0.0, numeric.mean_si)
    bell = np.exp(-0.5 * ((value - mean) / spread) ** 2) / (spread * np.sqrt(2.0 * np.pi))
    density = (1.0 - numeric.slip) * np.where(open_end, 0.0, bell) + numeric.slip / span
    density = np.where(numeric.dead | family.other, 1.0 / span, density)
    result: NDArray[np.float64] = density * span / len(check.outcomes)
    return result


def _moved(
    family: Family, weights: NDArray[np.float64], targets: NDArray[np.intp], success: float
) -> tuple[NDArray[np.float64], float]:
    """Push the weights through a repair; a share without a target goes outside the library."""
    absent = targets < 0
    lost = float(weights[absent].sum()) * success
    beyond = np.where(family.outside < 0, np.arange(len(targets)), family.outside)
    reached = np.where(absent, beyond, targets)
    moved = np.bincount(reached, weights=success * weights, minlength=len(weights))
    return moved + (1.0 - success) * weights, lost
