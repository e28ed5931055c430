"""Whether a system is seen to work: what would make its owner call again."""

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from catchpan.catalog.entry import ObserveEntry
from catchpan.diagnosis.worlds.bench import Bench, Conditions
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.enumerate_worlds import grown
from catchpan.diagnosis.worlds.probe import Probe

TROUBLE: Final = (
    ("room.short", "cool", 0.5),
    ("room.short", "heat", 0.5),
    ("room.clammy", "cool", 0.5),
    ("spill.floor", "cool", 0.5),
    ("spill.furnace", "cool", 0.5),
    ("coil.freezes", "cool", 0.5),
    ("outdoor_coil.builds_ice", "heat", 0.5),
    ("blower.state", "off", 1.5),
    ("strip1.watts", "off", 100.0),
    ("strip2.watts", "off", 100.0),
    ("contactor.pulled_in", "off", 0.5),
    ("compressor.state", "off", 1.5),
    ("room.short", "emergency", 0.5),
    ("stat.aux_in_heat", "heat", 0.5),
    ("furnace_drain.spills", "heat", 0.5),
    ("air.lost_share_look", "off", 0.2),
    ("burner.rogue", "off", 0.5),
)
"""Signal, demand, and the level above which it is trouble.

Among it what keeps the room cool or warm but is seen all the same: a heat pump that leans on its
strips in mild weather, a unit so large that the house stays damp, strips that fail when they are
needed, an outdoor unit that never stops, a furnace that drips, rooms whose duct has come off.
"""

SHORT, SHARE = "room.short", "room.share"

FELT: Final = 0.4
"""From this share of the heat or cold that is needed, air from the registers feels as it should to
whoever does not measure (assumed)."""

PREFIX: Final = "works:"

CALL_ANYWAY: Final = 0.03
"""How much rarer a call is where nothing is seen to be wrong in the season (assumed).

A furnace fault does not make anybody call in July; the same fault beside one that does stays as
likely as it is.
"""

MOST_LIFT: Final = 4.0
"""A root that shows in less than a quarter of its worlds is not lifted to its full rate: its
calls come in the other season (assumed)."""


def work_probes(description: Description) -> Mapping[str, Probe]:
    """Return the probes that together say whether it works in the season of the call."""
    shut = {"cooling": ("heat", "emergency"), "heating": ("cool",)}.get(
        description.season or "", ()
    )
    return {
        f"{PREFIX}{signal}:{demand}": Probe(
            ObserveEntry.model_validate({"quantity": "signal", "of": signal, "demand": demand})
        )
        for signal, demand in _read_for_it()
        if demand not in shut
    }


def _read_for_it() -> list[tuple[str, str]]:
    found = [(signal, demand) for signal, demand, _ in TROUBLE]
    return found + [(SHARE, demand) for signal, demand in found if signal == SHORT]


def seen_working(bench: Bench, sets: Sequence[Conditions]) -> NDArray[np.bool_]:
    """Say for each set of conditions whether the plant shows no trouble, shape (len(sets),)."""
    return ~(_trouble(bench, sets, shortfall=True) | _trouble(bench, sets, shortfall=False))


def seen_struggling(bench: Bench, sets: Sequence[Conditions]) -> NDArray[np.bool_]:
    """Say where it runs and brings less than is needed, and nothing else is to be seen of it.

    A fouled coil whose pressure switch was reset: for the minutes somebody watches, it works.
    """
    numbers, felt = bench.numbers(sets), np.ones(len(sets), dtype=np.bool_)
    for column, name in enumerate(bench.probes):
        if name.startswith(f"{PREFIX}{SHARE}:"):
            felt &= ~(numbers[:, column] < FELT)
    short = _trouble(bench, sets, shortfall=True)
    return short & felt & ~_trouble(bench, sets, shortfall=False)


def _trouble(bench: Bench, sets: Sequence[Conditions], *, shortfall: bool) -> NDArray[np.bool_]:
    """Say where a room gets too little, or where there is trouble of any other kind."""
    numbers = bench.numbers(sets)
    found = np.zeros(len(sets), dtype=np.bool_)
    limits = {f"{PREFIX}{s}:{d}": limit for s, d, limit in TROUBLE if (s == SHORT) == shortfall}
    for column, name in enumerate(bench.probes):
        if name in limits:
            found |= numbers[:, column] > limits[name]
    return found


def weights_of_calls(
    roots: Sequence[Conditions], weights: NDArray[np.float64], silent: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """Weigh worlds by the calls they bring: nobody calls while nothing is seen to be wrong.

    A root's rate counts calls. What a single root loses in the hours in which it does not show
    yet (a plugged drain before the pan is full) goes to those of its worlds that do show, up to
    ``MOST_LIFT``; worlds in which nothing shows keep a small share for those who call anyway.

    Parameters
    ----------
    roots : sequence of Conditions
        The roots of each world.
    weights : array, shape (len(roots),)
        Before it is known who calls.
    silent : array of bool, shape (len(roots),)
        Whether there is a root and nothing is seen of it.
    """
    total: dict[Conditions, float] = {}
    shown: dict[Conditions, float] = {}
    for root, weight, hidden in zip(roots, weights.tolist(), silent.tolist(), strict=True):
        total[root] = total.get(root, 0.0) + weight
        shown[root] = shown.get(root, 0.0) + weight * (not hidden)
    lift = {
        root: min(total[root] / shown[root], MOST_LIFT) if shown[root] > 0.0 else 1.0
        for root in total
    }
    factor = np.array([lift[root] if len(root) == 1 else 1.0 for root in roots])
    return np.asarray(weights * np.where(silent, CALL_ANYWAY, factor))


def harmless_alone(bench: Bench, names: Sequence[str]) -> frozenset[str]:
    """Return the conditions that by themselves keep nothing from working, now or after days."""
    if not names:
        return frozenset()
    alone = [frozenset({name}) for name in names]
    fine = seen_working(bench, alone) & seen_working(bench, grown(bench, alone))
    return frozenset(name for name, ok in zip(names, fine, strict=True) if ok)
