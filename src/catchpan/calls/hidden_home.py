"""A home whose faults are hidden: it answers every check as the plant under them would.

To practise on and to play a call without a keyboard. What physics cannot know (who was here, what
was heard) is told by the script of the home; the rest is read off the plant.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING

import numpy as np

from catchpan.calls.expected import digits_of
from catchpan.catalog.system import build_plant
from catchpan.diagnosis.bench import surroundings
from catchpan.diagnosis.likelihood import RESET_OUTCOMES
from catchpan.diagnosis.measured_value import takes_a_number, write_value
from catchpan.diagnosis.probe import Probe
from catchpan.diagnosis.usual import usual_answers
from catchpan.diagnosis.working import TROUBLE, work_probes
from catchpan.plant.settle import State, settle

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catchpan.calls.body import ProofResult
    from catchpan.catalog.entry import CheckEntry
    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.description import Description
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

    def shows(self, check_id: str) -> str | None:
        """Return what a person at this home would enter for a check, or None if they cannot.

        An answer's id, or a number with its unit.
        """
        entry = self.data.checks[check_id]
        if check_id in self.told:
            return self.told[check_id]
        match entry.observe.quantity:
            case "history":
                return usual_answers(self.data).get(check_id, entry.answers[-1].id)
            case "option":
                return self.description.options.get(entry.observe.of)
            case "reset":
                return self._reset(entry)
            case _:
                return self._physical(entry)

    def _physical(self, entry: CheckEntry) -> str | None:
        value = self.read(Probe(entry.observe))
        if value is None:
            return None
        if takes_a_number(entry):
            return "OL" if np.isinf(value) else write_value(entry, value, digits_of(entry, value))
        for answer in entry.answers:
            above = answer.low is None or value >= answer.low
            if above and (answer.high is None or value < answer.high):
                return answer.id
        return None

    def _reset(self, entry: CheckEntry) -> str:
        put_back = self.conditions - set(entry.observe.resets)
        if put_back == self.conditions:
            return RESET_OUTCOMES[3]
        before, self.conditions = self.conditions, put_back
        worked = self.works()
        again = self._comes_back(entry)
        if not worked or again:
            self.conditions = before
        return RESET_OUTCOMES[1] if again else RESET_OUTCOMES[0 if worked else 3]

    def _comes_back(self, entry: CheckEntry) -> bool:
        """Say whether what was put back would trip or blow again at once."""
        for name in entry.observe.resets:
            for arising in self.data.faults[name].arises:
                demands = ("cool", "heat", "off") if arising.demand == "any" else (arising.demand,)
                for demand in demands:
                    signals = self._state(demand).signals
                    held = [
                        c.signal in signals
                        and (c.above is None or float(signals[c.signal][0]) > c.above)
                        and (c.below is None or float(signals[c.signal][0]) < c.below)
                        for c in arising.all
                    ]
                    if all(held) and arising.after == "at_once":
                        return True
        return False

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
        for probe in work_probes(self.description).values():
            value = self.read(probe)
            if value is not None and value > limits[probe.observe.of, probe.demand]:
                return False
        return True

    def repair(self, repair_id: str) -> bool:
        """Take away what a repair removes, and say whether the system works now."""
        self.conditions -= {c for c in self.conditions if self._fixes(repair_id, c)}
        return self.works()

    def _fixes(self, repair_id: str, condition: str) -> bool:
        return any(fnmatchcase(condition, g) for g in self.data.repairs[repair_id].fixes)

    def proves(self, proof_id: str) -> ProofResult:
        """Return how a proof comes out."""
        entry = self.data.proofs[proof_id]
        value = self.read(Probe(entry.observe))
        if value is None:
            return "too_close"
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
