"""A hidden home that answers as its own plant would, with people and instruments in between."""

from __future__ import annotations

from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.inference.belief import PROOF_ERROR
from catchpan.diagnosis.worlds.bench import chance_of
from catchpan.diagnosis.worlds.check_models import ABSENT
from catchpan.diagnosis.worlds.enumerate_worlds import LIKELY
from catchpan.diagnosis.worlds.likelihood import RESET_OUTCOMES, history_table

if TYPE_CHECKING:
    from catchpan.catalog.entry import AnswerEntry, CheckEntry
    from catchpan.diagnosis.rehearsal.departure import Departure
    from catchpan.diagnosis.rehearsal.luck import Luck
    from catchpan.diagnosis.rehearsal.unit import Unit

ON_CIRCUIT: Final = "cycle"
"""What is read off the running circuit; such numbers are weighed as they are."""

READ_IN_STEPS: Final = 0.2
"""An instrument is read to so many of its own spreads (assumed)."""

SLIPS_BY: Final = 100.0
"""A sensor off its pipe or a wrong port reads wrong by up to so many of those steps (assumed)."""

BACK_IN_MINUTES: Final = 0.5
"""Chance that what arises within minutes is there again when a try is judged (assumed)."""


@dataclass
class PlantHome:
    """A home with a unit of its own and conditions that nobody is told.

    Parameters
    ----------
    unit
        The plant of the home.
    conditions
        What is wrong at the start.
    """

    unit: Unit
    conditions: frozenset[str]
    departure: Departure
    luck: Luck
    tried: list[str] = field(default_factory=list, init=False)

    def can_do(self, target: str) -> bool:
        """Say whether a check or proof can be made on this call at all."""
        return bool(self.luck.of(f"can {target}").random() >= self.departure.skipped)

    def answer(self, check_id: str) -> str:
        """Return the id of the answer somebody gives or reads, right or wrong."""
        entry = self.unit.data.checks[check_id]
        rng = self.luck.of(check_id, len(self.tried))
        slips = rng.random() < (1.0 - entry.reliability.value) * self.departure.slip_factor
        found = self._right_answer(entry, rng)
        if not slips or found == ABSENT.id or entry.observe.quantity == "history":
            return found
        known = [a.id for a in entry.answers] or [found]
        if entry.observe.quantity == "reset":
            known = list(RESET_OUTCOMES)
        return known[int(rng.integers(len(known)))]

    def _right_answer(self, entry: CheckEntry, rng: np.random.Generator) -> str:
        match entry.observe.quantity:
            case "history":
                return self._history(entry, rng)
            case "option":
                return self.unit.description.options.get(entry.observe.of, ABSENT.id)
            case "reset":
                return self._reset(entry, rng)
            case _:
                return self._physical(entry, rng)

    def _history(self, entry: CheckEntry, rng: np.random.Generator) -> str:
        names = sorted(self.conditions)
        held = np.ones((1, len(names)), dtype=np.bool_)
        chance = history_table(held, names, entry.answers)[0]
        return entry.answers[int(rng.choice(len(chance), p=chance))].id

    def number(self, check_id: str) -> float | None:
        """Return what an instrument on the running circuit shows [SI], right or wrong.

        It is read in steps of a fifth of its own spread. None where the check takes an answer.
        """
        entry = self.unit.data.checks[check_id]
        if entry.observe.quantity != ON_CIRCUIT:
            return None
        rng = self.luck.of(check_id, len(self.tried))
        slips = rng.random() < (1.0 - entry.reliability.value) * self.departure.slip_factor
        value = self._shown(entry, rng)
        if value is None or not np.isfinite(value):
            return None
        step = READ_IN_STEPS * (entry.blur.value if entry.blur is not None else 0.0)
        if slips:
            value += SLIPS_BY * step * float(rng.uniform(-1.0, 1.0))
        return round(value / step) * step if step > 0.0 else value

    def _physical(self, entry: CheckEntry, rng: np.random.Generator) -> str:
        value = self._shown(entry, rng)
        return ABSENT.id if value is None else _answer_of(entry.answers, value)

    def _shown(self, entry: CheckEntry, rng: np.random.Generator) -> float | None:
        """Return what is read, with the error of the instrument; None where nothing can be."""
        shows, noise = rng.random(), float(rng.standard_normal())
        conditions = self.conditions
        if not entry.complaint:
            now_and_then = self._intermittent()
            if now_and_then and shows >= min(now_and_then.values()):
                conditions = conditions.difference(now_and_then)
        value = self.unit.shows(entry.id, conditions)
        blur = entry.blur.value if entry.blur is not None else 0.0
        if value is not None and np.isfinite(value):
            value += blur * (noise + self.departure.shared_bias * self._bias(entry.unit))
        return value

    def _intermittent(self) -> dict[str, float]:
        faults = self.unit.data.faults
        known = {c: faults[c].seen_share for c in self.conditions}
        return {c: share.value for c, share in known.items() if share is not None}

    def _bias(self, unit: str) -> float:
        """Return the bias of the instrument that shows this unit, in spreads; of the eye, 0."""
        return float(self.luck.of(f"instrument {unit}").standard_normal()) if unit else 0.0

    def _reset(self, entry: CheckEntry, rng: np.random.Generator) -> str:
        """Put back what tripped or blew, run it, and say what came of it."""
        put_back = self.conditions - frozenset(entry.observe.resets)
        if put_back == self.conditions:
            return RESET_OUTCOMES[3]
        self.conditions = put_back
        self._let_run(rng)
        if self.conditions & frozenset(entry.observe.resets):
            return RESET_OUTCOMES[1]
        return RESET_OUTCOMES[0 if self.works() else 3]

    def try_repair(self, repair_id: str) -> bool:
        """Make a repair and say whether the system is seen to work afterwards."""
        entry = self.unit.data.repairs[repair_id]
        rng = self.luck.of(repair_id, self.tried.count(repair_id))
        self.tried.append(repair_id)
        miss = (1.0 - entry.success.value) * self.departure.repair_miss_factor
        if rng.random() >= miss:
            self.conditions = self.conditions - self._removed(repair_id)
        self._let_run(rng)
        return self._judged(rng)

    def runs(self) -> bool:
        """Run the system as it is and say whether it is seen to work."""
        return self._judged(self.luck.of("runs", len(self.tried)))

    def prove(self, proof_id: str) -> str:
        """Return ``pass``, ``fail`` or ``too-close``."""
        entry = self.unit.data.proofs[proof_id]
        rng = self.luck.of(proof_id, len(self.tried))
        value = self.unit.shows(proof_id, self.conditions)
        if value is None:
            return "too-close"
        if entry.observe.quantity == ON_CIRCUIT:
            value -= self.unit.sound[proof_id]
        spread = entry.uncertainty.value
        if np.isfinite(value):
            noise = float(rng.standard_normal())
            value += spread * (noise + self.departure.shared_bias * self._bias(entry.unit))
        if any(x is not None and abs(value - x) < spread for x in (entry.low, entry.high)):
            return "too-close"
        low = entry.low is not None and value < entry.low
        high = entry.high is not None and value >= entry.high
        return "fail" if low or high else "pass"

    def pace(self, target: str) -> float:
        """Return how many times its usual minutes a step takes here."""
        spread = self.departure.times_log_sd
        return float(np.exp(spread * self.luck.of(f"pace {target}").standard_normal()))

    def left_over(self) -> frozenset[str]:
        """Return the conditions that are there now."""
        return self.conditions

    def must_go(self) -> frozenset[str]:
        """Return those of them that keep the system from working for days."""
        kinds = {c: self.unit.data.faults[c].kind for c in self.conditions}
        alone = {c for c, kind in kinds.items() if kind != "latent"}
        self.unit.run(frozenset({c}) for c in sorted(alone))
        return frozenset(c for c in alone if not self.unit.stays_working(frozenset({c})))

    def works(self) -> bool:
        """Say whether the system works now, rightly judged."""
        return self.unit.works(self.conditions)

    def is_fixed(self) -> bool:
        """Say whether the system works and would still work after days."""
        return self.unit.stays_working(self.conditions)

    def would_help(self, repair_id: str) -> bool:
        """Say whether a repair removes anything that is there now."""
        return bool(self._removed(repair_id))

    def _removed(self, repair_id: str) -> frozenset[str]:
        globs = self.unit.data.repairs[repair_id].fixes
        return frozenset(c for c in self.conditions if any(fnmatchcase(c, g) for g in globs))

    def _let_run(self, rng: np.random.Generator) -> None:
        """Let what trips or blows do so again, as it does when the system is run."""
        within_minutes = rng.random() < BACK_IN_MINUTES
        for _ in range(len(self.unit.bench.consequences)):
            arising = self.unit.arising(self.conditions).items()
            faults = self.unit.data.faults
            new = {
                name
                for name, stage in arising
                if stage <= int(within_minutes) and chance_of(faults[name]) > LIKELY
            }
            if not new:
                return
            self.conditions = self.conditions | new

    def _judged(self, rng: np.random.Generator) -> bool:
        wrong = rng.random() < PROOF_ERROR * self.departure.slip_factor
        return self.works() != wrong


def _answer_of(answers: tuple[AnswerEntry, ...], value: float) -> str:
    for answer in answers:
        above = answer.low is None or value >= answer.low
        if above and (answer.high is None or value < answer.high):
            return answer.id
    return answers[-1].id
