"""Latent defects: what shows no symptom today and would bring the technician back.

The worlds do not hold them. Each is a chance of its own: its rate, times what the answers of the
checks that can find it say; one that is a way of being built (a float switch never wired) has the
share of the settings that are built so. Other faults that could explain the same answer are left
out of the reckoning (assumed small).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from math import exp, log
from typing import Final

import numpy as np

from catchpan.catalog.entry import CheckEntry, FaultEntry
from catchpan.catalog.load import Catalog
from catchpan.catalog.system import options_of, prior_of_value
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.inference.panel_reading import CALLER_SLIP
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.enumerate_worlds import rate_of
from catchpan.diagnosis.worlds.likelihood import history_table, with_mistakes

NAMED: Final = 0.5
"""A latent defect is named when it is more likely there than not."""

PER_CALLS: Final = 1000.0


@dataclass(frozen=True)
class Latent:
    """A latent defect.

    Parameters
    ----------
    id, title
        Which one.
    share
        Probability that it is there.
    found_by
        Checks that can find it.
    because
        Ids of the checks whose readings made it likelier.
    """

    id: str
    title: str
    share: float
    found_by: tuple[str, ...]
    because: tuple[str, ...]

    @property
    def named(self) -> bool:
        """Whether it is likely enough to be named."""
        return self.share > NAMED


def latent_defects(
    description: Description,
    data: Catalog,
    readings: Iterable[Reading],
    option_shares: Mapping[str, Mapping[str, float]],
) -> tuple[Latent, ...]:
    """Weigh every latent defect this system can have, the likeliest first.

    Parameters
    ----------
    description : Description
        The system.
    data : Catalog
        Its latent faults and the checks whose answers list them.
    readings : iterable of Reading
        All readings; repeats of one check count once, the last one.
    option_shares : mapping
        For each option the share of each of its values, see ``option_shares``.
    """
    last = {r.check_id: r for r in readings if r.check_id in data.checks}
    found = []
    for fault in possible_defects(description, data):
        possible = _share_of_settings(fault, option_shares)
        if possible > 0.0:
            found.append(_weighed(fault, possible, description, data, list(last.values())))
    return tuple(sorted(found, key=lambda d: (-d.share, d.id)))


def option_shares(
    description: Description, data: Catalog, belief: Belief
) -> dict[str, dict[str, float]]:
    """Return the share of each value of each option of a system, under a belief."""
    chance = belief.probabilities()
    setting = np.array([w.setting for w in belief.family.worlds])
    weight = np.bincount(setting, chance, minlength=len(belief.family.settings))
    shares: dict[str, dict[str, float]] = {}
    for name, option in options_of(description.archetype, data).items():
        values = {v.id: 0.0 for v in option.values}
        for part, settled in zip(weight.tolist(), belief.family.settings, strict=True):
            if name in settled:
                values[settled[name]] += part
        if not any(values.values()):
            values = {v.id: prior_of_value(option, v, description.options) for v in option.values}
        shares[name] = values
    return shares


def _share_of_settings(fault: FaultEntry, shares: Mapping[str, Mapping[str, float]]) -> float:
    """Share of the settings in which the defect is possible; options are taken one by one."""
    share = 1.0
    for option, values in fault.needs_option.items():
        share *= sum(shares.get(option, {}).get(value, 0.0) for value in values)
    return min(share, 1.0)


def _weighed(
    fault: FaultEntry,
    possible: float,
    description: Description,
    data: Catalog,
    readings: Sequence[Reading],
) -> Latent:
    finders = found_by(fault, data)
    if decided_by_option(fault, data):
        return Latent(fault.id, fault.title, possible, finders, ())
    odds, because = first_log_odds(fault, description), []
    for reading in readings:
        weight = evidence(data.checks[reading.check_id], fault.id, reading)
        odds += weight
        if weight > 0.0:
            because.append(reading.check_id)
    share = possible / (1.0 + exp(-odds))
    return Latent(fault.id, fault.title, share, finders, tuple(because))


def possible_defects(description: Description, data: Catalog) -> tuple[FaultEntry, ...]:
    """Return the latent defects a kind of system can have, whatever its options."""
    return tuple(
        fault
        for fault in data.faults.values()
        if fault.kind == "latent"
        and (not fault.archetypes or description.archetype in fault.archetypes)
    )


def first_log_odds(fault: FaultEntry, description: Description) -> float:
    """Log odds of a defect before anything was looked at, where the options allow it [nats]."""
    rate = min(max(rate_of(fault, description) / PER_CALLS, 1e-6), 0.999)
    return log(rate / (1.0 - rate))


def decided_by_option(fault: FaultEntry, data: Catalog) -> bool:
    """Whether a defect is nothing but a way of being built, which a check asks for."""
    if not fault.needs_option or any(_lists(c, fault.id) for c in _of_quantity(data, "history")):
        return False
    return any(_asks_for(c, fault) for c in _of_quantity(data, "option"))


def found_by(fault: FaultEntry, data: Catalog) -> tuple[str, ...]:
    """Return the checks that can find a defect."""
    if decided_by_option(fault, data):
        return tuple(c.id for c in _of_quantity(data, "option") if _asks_for(c, fault))
    return tuple(c.id for c in _of_quantity(data, "history") if _lists(c, fault.id))


def evidence(check: CheckEntry, defect: str, reading: Reading) -> float:
    """Weight of a reading for a defect: log of how much likelier the answer is where it is there.

    Returns
    -------
    float
        In nats; 0 for a check that cannot find the defect.
    """
    answers = [a.id for a in check.answers]
    if not _lists(check, defect) or reading.outcome_id not in answers:
        return 0.0
    table = history_table(np.array([[False], [True]]), [defect], check.answers)
    table = with_mistakes(table, check.reliability.value)
    without, there = table[:, answers.index(reading.outcome_id)].tolist()
    if reading.reporter == "caller" and not check.phone:
        slip = CALLER_SLIP / len(answers)
        without = (1.0 - CALLER_SLIP) * without + slip
        there = (1.0 - CALLER_SLIP) * there + slip
    return log(there / without)


def _lists(check: CheckEntry, defect: str) -> bool:
    return check.observe.quantity == "history" and any(
        fnmatchcase(defect, given.fault) for answer in check.answers for given in answer.given
    )


def _of_quantity(data: Catalog, quantity: str) -> list[CheckEntry]:
    return [c for c in data.checks.values() if c.observe.quantity == quantity]


def _asks_for(check: CheckEntry, fault: FaultEntry) -> bool:
    return check.observe.quantity == "option" and check.observe.of in fault.needs_option
