"""A home whose faults are hidden: it answers every check as the plant under them would.

To practise on and to play a call without a keyboard. What physics cannot know (who was here, what
was heard) is told by the script of the home; the rest is read off the plant.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from catchpan.calls.proving import measured_proof
from catchpan.catalog.system import archetype, build_plant
from catchpan.diagnosis.cases.measured_value import takes_a_number, write_value
from catchpan.diagnosis.cases.todays_reading import digits_of
from catchpan.diagnosis.cases.usual import usual_answers
from catchpan.diagnosis.worlds.bench import surroundings
from catchpan.diagnosis.worlds.check_models import ABSENT
from catchpan.diagnosis.worlds.likelihood import RESET_OUTCOMES
from catchpan.diagnosis.worlds.probe import Probe
from catchpan.diagnosis.worlds.timely import timely_proof
from catchpan.diagnosis.worlds.working import TROUBLE, work_probes
from catchpan.plant.settle import State, settle

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catchpan.catalog.entry import ArisesEntry, CheckEntry, FaultEntry
    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.worlds.description import Description
    from catchpan.plant.plant import Plant


@dataclass
class HiddenHome:
    """A home with something wrong.

    Parameters
    ----------
    description : Description
        The system, with a value for every option.
    conditions : set of str
        What is wrong now; repairs take from it.
    told : mapping of str to str
        Answers, by check id, of what physics cannot know; others are as usual.
    data : Catalog
        The catalog.
    """

    description: Description
    conditions: set[str]
    told: Mapping[str, str]
    data: Catalog
    _states: dict[tuple[frozenset[str], str], State] = field(default_factory=dict)

    @property
    def plant(self) -> Plant:
        """The plant of the home."""
        return build_plant(self.description.archetype, self.description.options)

    @cached_property
    def _usual(self) -> Mapping[str, str]:
        return usual_answers(self.data)

    def shows(self, check_id: str) -> str | None:
        """Return what a person at this home would enter for a check, or None if they cannot.

        An answer's id, or a number with its unit.
        """
        entry = self.data.checks[check_id]
        if check_id in self.told:
            return self.told[check_id]
        built = self.description.options
        if any(built.get(k) not in values for k, values in entry.needs_option.items()):
            return ABSENT.id
        match entry.observe.quantity:
            case "history":
                return self._usual.get(check_id, entry.answers[-1].id)
            case "option":
                return self.description.options.get(entry.observe.of)
            case "reset":
                return self._reset(entry)
            case _:
                return self._physical(entry)

    def _physical(self, entry: CheckEntry) -> str | None:
        value = self.read(Probe(entry.observe))
        if value is None:
            return ABSENT.id
        if takes_a_number(entry):
            return "OL" if np.isinf(value) else write_value(entry, value, digits_of(entry, value))
        for answer in entry.answers:
            above = answer.low is None or value >= answer.low
            if above and (answer.high is None or value < answer.high):
                return answer.id
        return None

    def _reset(self, entry: CheckEntry) -> str:
        """Put back what tripped or blew, run it, and say what came of it."""
        put_back = self.conditions - set(entry.observe.resets)
        if put_back == self.conditions:
            return RESET_OUTCOMES[3]
        self.conditions = put_back
        self._let_run()
        if self.conditions != put_back:
            return RESET_OUTCOMES[1]
        return RESET_OUTCOMES[0 if self.works() else 3]

    def _let_run(self) -> None:
        """Let what trips or blows at once do so again, as it does when the system is run."""
        for _ in range(len(self.data.faults)):
            new = {c for c in self.plant.conditions if self._arises(self.data.faults[c])}
            if new <= self.conditions:
                return
            self.conditions = self.conditions | new

    def _arises(self, fault: FaultEntry) -> bool:
        return any(
            entry.after == "at_once" and entry.chance.value > 0.5 and self._holds(entry)
            for entry in fault.arises
        )

    def _holds(self, entry: ArisesEntry) -> bool:
        known = archetype(self.description.archetype, self.data).demands
        demands = known if entry.demand == "any" else (entry.demand,)
        return any(self._shown(entry, demand) for demand in demands if demand in known)

    def _shown(self, entry: ArisesEntry, demand: str) -> bool:
        signals = self._state(demand).signals
        return all(
            c.signal in signals
            and (c.above is None or float(signals[c.signal][0]) > c.above)
            and (c.below is None or float(signals[c.signal][0]) < c.below)
            for c in entry.all
        )

    def read(self, probe: Probe) -> float | None:
        """Return what a probe shows; None where this system has nothing to look at."""
        state = self._state(probe.demand)
        if not probe.fits(self.plant, frozenset(state.signals)):
            return None
        value = float(probe.read(state)[0])
        return None if np.isnan(value) else value

    def works(self) -> bool:
        """Say whether the system is seen to work in the season of the call."""
        limits = {(signal, demand): limit for signal, demand, limit in TROUBLE}
        known = archetype(self.description.archetype, self.data).demands
        for probe in work_probes(self.description).values():
            limit = limits.get((probe.observe.of, probe.demand))
            if limit is None or probe.demand not in known:
                continue
            value = self.read(probe)
            if value is not None and value > limit:
                return False
        return True

    def repair(self, repair_id: str) -> bool:
        """Take away what a repair removes, and say whether the system works now."""
        self.conditions = {c for c in self.conditions if not self._fixes(repair_id, c)}
        self._let_run()
        return self.works()

    def _fixes(self, repair_id: str, condition: str) -> bool:
        return any(fnmatchcase(condition, g) for g in self.data.repairs[repair_id].fixes)

    def proves(self, proof_id: str) -> str:
        """Return what a person would enter for a proof: a number with its unit, or a result."""
        entry = timely_proof(self.data.proofs[proof_id], self.description, self.data)
        value = self.read(Probe(entry.observe))
        if value is None:
            return "too_close"
        as_check = measured_proof(entry)
        if as_check is not None:
            return write_value(as_check, value, digits_of(as_check, value))
        low = entry.low is not None and value < entry.low
        high = entry.high is not None and value >= entry.high
        return "fail" if low or high else "pass"

    def _state(self, demand: str) -> State:
        key = (frozenset(self.conditions), demand)
        if key not in self._states:
            plant = self.plant
            known = [c for c in sorted(self.conditions) if c in plant.conditions]
            around = surroundings(self.description, demand)
            self._states[key] = settle(plant, plant.set_up([known]), around)
        return self._states[key]
