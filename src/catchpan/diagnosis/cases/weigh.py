"""Weighing a case: which causes, how sure, why, and what to do next."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fnmatch import fnmatchcase
from math import inf, log
from typing import Final

from catchpan.catalog.load import Catalog, catalog
from catchpan.catalog.system import options_of
from catchpan.diagnosis.cases.candidate import Candidate, follow, root_shares
from catchpan.diagnosis.cases.case import Case, Entry
from catchpan.diagnosis.cases.case_words import words_of
from catchpan.diagnosis.cases.measured_value import answer_of_value, weighed_as_it_is
from catchpan.diagnosis.cases.proposal import proposed_steps
from catchpan.diagnosis.cases.todays_reading import likeliest_setting
from catchpan.diagnosis.cases.todays_targets import Todays, plate_of, todays_targets
from catchpan.diagnosis.cases.weighing import (
    Cause,
    Doubt,
    Group,
    OpenOption,
    Pair,
    Speaks,
    SystemShare,
    Weighing,
)
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.inference.causes import Causes, Share, rank_causes
from catchpan.diagnosis.inference.conflict import find_conflict
from catchpan.diagnosis.inference.grouped import (
    share_of_any,
    shares_of_parts,
    shares_of_repairs,
)
from catchpan.diagnosis.inference.latent import Latent, latent_defects, option_shares
from catchpan.diagnosis.inference.questioned import questions
from catchpan.diagnosis.worlds.compile_family import Size
from catchpan.diagnosis.worlds.compiled import FamilyShelf, compiled
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import CONSEQUENCE, ROOT, Family

LEAST_SHARE: Final = 1e-6
"""A cause below this share is not listed."""

LEAST_SYSTEM: Final = 1e-3
"""A kind of system below this share counts no further, unless it is the likeliest."""

SMALL: Final = Size(settings=8, pairs=800)
"""How much of each family is kept where the kind of system is in doubt."""

SPOKEN: Final = 10
"""For so many causes it is worked out which readings speak for them."""


def weigh(
    case: Case, *, steps: int = 3, data: Catalog | None = None, shelf: FamilyShelf | None = None
) -> Weighing:
    """Weigh a case.

    Parameters
    ----------
    case : Case
        See ``read_case``.
    steps : int, optional
        How many next steps to propose, 0 or more.
    data : Catalog, optional
        By default the catalog that comes with catchpan.
    shelf : FamilyShelf, optional
        Where compiled families are kept between starts.

    Returns
    -------
    Weighing
        All shares are probabilities, 0 to 1.

    Raises
    ------
    UnknownName, ImpossibleOptions
        For a system or an option that does not exist.
    """
    data = data or catalog()
    size = Size() if len(case.systems) == 1 else SMALL
    systems = [(d, p, compiled(d, data, size=size, shelf=shelf)) for d, p in case.systems]
    told = [e for e in case.history if not _is_settled(e, case, data)]
    return _Weigher(case, data, systems, told).weighing(steps)


def log_score(weighing: Weighing, true_roots: Sequence[str]) -> float:
    """Natural log of the share given to the truth: 0 is perfect, -inf certainly wrong.

    Parameters
    ----------
    weighing : Weighing
        As returned by ``weigh``.
    true_roots : sequence of str
        Ids of root faults, any of which counts as the truth.
    """
    share = share_of_any(_beliefs(weighing.candidates), frozenset(true_roots))
    return log(share) if share > 0.0 else -inf


def fixes_of(data: Catalog) -> dict[str, frozenset[str]]:
    """Return the faults each repair puts right; of two alike the quicker one comes first."""
    repairs = sorted(data.repairs.values(), key=lambda r: (r.minutes.value, r.id))
    return {
        r.id: frozenset(f for f in data.faults if any(fnmatchcase(f, g) for g in r.fixes))
        for r in repairs
    }


def _beliefs(candidates: Sequence[Candidate]) -> list[tuple[float, Belief]]:
    return [(c.share, c.belief) for c in candidates]


def _worth_keeping(candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    return tuple(c for k, c in enumerate(candidates) if k == 0 or c.share >= LEAST_SYSTEM)


def _is_settled(entry: Entry, case: Case, data: Catalog) -> bool:
    """Whether a reading only says how the system is built, and the description says it already."""
    if not isinstance(entry, Reading) or entry.check_id not in data.checks:
        return False
    look = data.checks[entry.check_id].observe
    known = case.systems[0][0].options
    return look.quantity == "option" and known.get(look.of) == entry.outcome_id


def _weighable(entry: Entry, data: Catalog) -> Entry:
    """Return the entry as it is weighed: a value by the answer it falls in."""
    if not isinstance(entry, Reading) or entry.value_si is None:
        return entry
    check = data.checks[entry.check_id]
    if weighed_as_it_is(check):
        return replace(entry, outcome_id=None)
    answer = answer_of_value(check, entry.value_si)
    return replace(entry, outcome_id=answer, value_si=None, sd_si=None)


class _Weigher:
    """The parts of a weighing, one after the other."""

    def __init__(
        self,
        case: Case,
        data: Catalog,
        systems: Sequence[tuple[Description, float, Family]],
        told: Sequence[Entry],
    ) -> None:
        self.case, self.data, self.systems, self.told = case, data, systems, told
        self.history = [_weighable(e, data) for e in told]
        self.candidates = _worth_keeping(follow(systems, self.history))
        self.leading = self.candidates[0]
        self.number = {id(e): k for k, e in enumerate(case.history, start=1)}
        self.shares = root_shares(self.candidates)
        self.ranked = [(c.share, rank_causes(c.belief)) for c in self.candidates]

    def weighing(self, steps: int) -> Weighing:
        lead, ranked = self.leading, self.ranked
        return Weighing(
            systems=tuple(self._system(c) for c in self.candidates),
            ranking=self._ranking(),
            parts=self._parts(),
            repairs=self._repairs(),
            consequences=self._consequences(),
            pairs=self._pairs(),
            several=sum(w * c.several for w, c in ranked),
            no_fault=sum(w * c.no_fault for w, c in ranked),
            none_of_these=sum(w * c.other for w, c in ranked),
            latent=self._latent(),
            options=self._options(ranked[0][1]),
            doubt=self._doubt(),
            steps=proposed_steps(lead, self.history, self.data, steps) if steps > 0 else (),
            cut_mass=sum(w * c.cut_mass for w, c in ranked),
            set_aside={self._number(k): self._words(k) for k in lead.set_aside},
            notes=(*self.case.notes, *(q.text for q in questions(lead.belief))),
            targets=self._targets(),
            candidates=self.candidates,
        )

    def _targets(self) -> Todays | None:
        """Today's targets in the demand the circuit was read in, if it was read."""
        lead = self.leading
        for demand, view in lead.belief.views.items():
            if view.taken:
                setting = lead.family.settings[likeliest_setting(lead.belief)]
                return todays_targets(lead.belief, plate_of(lead.description, setting), demand)
        return None

    def _number(self, position: int) -> int:
        return self.number[id(self.told[position])]

    def _words(self, position: int) -> str:
        entry = self.told[position]
        known = isinstance(entry, Reading) and self.leading.family.checks.get(entry.check_id)
        return words_of(entry, self.data, known or None)

    def _system(self, candidate: Candidate) -> SystemShare:
        kind = candidate.description.archetype
        return SystemShare(kind, self.data.archetypes[kind].title, candidate.share)

    def _ranking(self) -> tuple[Cause, ...]:
        shares = self.shares
        order = sorted(shares, key=lambda name: (-shares[name], name))
        spoken = self._speaks(order[:SPOKEN], shares)
        return tuple(
            self._cause(name, shares[name], ROOT, spoken.get(name, ()))
            for name in order
            if shares[name] >= LEAST_SHARE
        )

    def _cause(self, name: str, share: float, part: str, speaks: tuple[Speaks, ...] = ()) -> Cause:
        fault = self.data.faults[name]
        return Cause(name, fault.title, share, part, fault.component, fault.family, speaks)

    def _speaks(
        self, names: Sequence[str], shares: dict[str, float]
    ) -> dict[str, tuple[Speaks, ...]]:
        """Leave out one entry after the other and see what that does to the odds of each cause."""
        found: dict[str, list[Speaks]] = {name: [] for name in names}
        for position in range(len(self.history)):
            if position in self.leading.set_aside:
                continue
            without = root_shares(follow(self.systems, self.history, leave_out=position))
            words, number = self._words(position), self._number(position)
            for name in names:
                weight = _log_odds(shares[name]) - _log_odds(without.get(name, 0.0))
                found[name].append(Speaks(number, words, weight))
        return {
            name: tuple(sorted(some, key=lambda s: (-abs(s.log_odds), s.entry)))
            for name, some in found.items()
        }

    def _parts(self) -> tuple[Group, ...]:
        part = {f.id: f.component for f in self.data.faults.values()}
        found = shares_of_parts(_beliefs(self.candidates), part)
        return tuple(
            Group(
                s.id,
                s.id.replace("_", " "),
                s.probability,
                self._largest([name for name, at in part.items() if at == s.id]),
            )
            for s in found
            if s.probability >= LEAST_SHARE
        )

    def _repairs(self) -> tuple[Group, ...]:
        fixes = fixes_of(self.data)
        return tuple(
            Group(s.id, self.data.repairs[s.id].title, s.probability, self._largest(fixes[s.id]))
            for s in shares_of_repairs(_beliefs(self.candidates), fixes)
            if s.probability >= LEAST_SHARE
        )

    def _largest(self, names: Iterable[str]) -> tuple[str, ...]:
        """Return the causes among some names that are worth listing, the likeliest first."""
        shares = {n: self.shares[n] for n in names if self.shares.get(n, 0.0) >= LEAST_SHARE}
        return tuple(sorted(shares, key=lambda name: (-shares[name], name)))

    def _consequences(self) -> tuple[Cause, ...]:
        shares: dict[str, float] = {}
        for weight, causes in self.ranked:
            for share in causes.consequences:
                shares[share.id] = shares.get(share.id, 0.0) + weight * share.probability
        order = sorted(shares, key=lambda name: (-shares[name], name))
        return tuple(
            self._cause(n, shares[n], CONSEQUENCE) for n in order if shares[n] >= LEAST_SHARE
        )

    def _pairs(self) -> tuple[Pair, ...]:
        shares: dict[str, float] = {}
        for weight, causes in self.ranked:
            for share in causes.pairs[:20]:
                shares[share.id] = shares.get(share.id, 0.0) + weight * share.probability
        order = sorted(shares, key=lambda name: (-shares[name], name))[:5]
        return tuple(
            Pair(ids, tuple(self.data.faults[i].title for i in ids), shares[name])
            for name in order
            if (ids := tuple(name.split(" + ")))
        )

    def _latent(self) -> tuple[Latent, ...]:
        lead = self.leading
        readings = [e for e in self.case.history if isinstance(e, Reading)]
        shares = option_shares(lead.description, self.data, lead.belief)
        found = latent_defects(lead.description, self.data, readings, shares)
        return tuple(defect for defect in found if defect.named)

    def _options(self, causes: Causes) -> tuple[OpenOption, ...]:
        known = options_of(self.leading.description.archetype, self.data)
        return tuple(
            OpenOption(name, known[name].title, tuple(Share(s.id, s.probability) for s in values))
            for name, values in causes.settings.items()
        )

    def _doubt(self) -> Doubt | None:
        conflict = find_conflict(self.leading.belief)
        if conflict is None:
            return None
        entries = [self._position(s.reading) for s in conflict.suspects]
        repeat = self._position(conflict.repeat.reading) if conflict.repeat else None
        return Doubt(
            entries=tuple(self._number(k) for k in entries),
            words=tuple(self._words(k) for k in entries),
            repeat=self._number(repeat) if repeat is not None else None,
        )

    def _position(self, reading: Reading) -> int:
        return max(k for k, e in enumerate(self.history) if e is reading or e == reading)


def _log_odds(share: float) -> float:
    kept = min(max(share, 1e-12), 1.0 - 1e-12)
    return log(kept / (1.0 - kept))
