"""How far the homes of a rehearsal depart from what the planner takes for true."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Departure:
    """What is different out there; the default departs in nothing.

    Parameters
    ----------
    name
        For the tables.
    prior_log_sd
        Spread of the log of every root's rate about the catalog's.
    plant_log_sd
        Unit-to-unit spread of the log of resistances, currents, capacities, airflows; a faulty
        part is further off (``severity_log_sd``).
    severity_log_sd
        Spread of the log of how bad a fault is that comes in degrees.
    shared_bias
        Bias that all readings of one instrument share on a call, in spreads of the check; it
        comes on top of the spread that the planner reckons with.
    slip_factor
        How many times as often people answer at random, and judge a repair wrongly, as the
        catalog says.
    skipped
        Chance that a check cannot be made now, for a whole call.
    times_log_sd
        Spread of the log of the minutes of every step.
    outside
        Share of calls whose root the planner's catalog does not hold.
    three
        Share of calls with three roots.
    repair_miss_factor
        How many times as often a repair misses as the catalog says.
    """

    name: str = "none"
    prior_log_sd: float = 0.0
    plant_log_sd: float = 0.0
    severity_log_sd: float = 0.0
    shared_bias: float = 0.0
    slip_factor: float = 1.0
    skipped: float = 0.0
    times_log_sd: float = 0.0
    outside: float = 0.0
    three: float = 0.0
    repair_miss_factor: float = 1.0
