"""Operating points and properties, beside the general-purpose libraries nearest to them.

``python -m benchmarks.bench_cycle`` writes the page ``benchmarks/cycle.md`` to standard output.
"""

import os
import platform
import statistics
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from importlib.metadata import version
from typing import Final

import numpy as np
import psychrolib
from CoolProp import CoolProp

from benchmarks.measurement import Measurement, measure
from benchmarks.peer_cycle import AirCoupledCycle
from catchpan.physics.cycle.design import Design
from catchpan.physics.cycle.rating import Rating, cop_b_from_seer, cop_from_eer, fit_unit
from catchpan.physics.cycle.solve import operating_points
from catchpan.physics.cycle.unit import Departures, Unit, Weather
from catchpan.physics.moist_air import humidity_ratio_from_wet_bulb
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.physics.refrigerant.table import RefrigerantTable

MANY: Final = 10_000
CALLS: Final = 100_000
ROUNDS: Final = 7
OUTDOOR_C: Final = np.linspace(25.0, 40.0, 31)
BARS: Final = 101325.0


@dataclass(frozen=True)
class Beside:
    """What one act costs here and in a peer, seconds each."""

    what: str
    ours_s: float
    peer_s: float

    def __str__(self) -> str:
        figures = (self.ours_s * 1e6, self.peer_s * 1e6, self.peer_s / self.ours_s)
        return " | ".join([f"| {self.what}", *(_short(each) for each in figures)]) + " |"


def _short(value: float) -> str:
    """Return a figure with two or three digits that count."""
    return f"{value:,.0f}" if value >= 99.5 else f"{value:.2g}"


def unit_for(name: str) -> Unit:
    """Fit an air conditioner of 8.8 kW to its nameplate."""
    rating = Rating(8800.0, cop_from_eer(11.2), cop_b=cop_b_from_seer(13.0))
    of_map = refrigerant_table("R-410A")
    return fit_unit(refrigerant_table(name), rating, Design(2.5), of_map=of_map)


def healthy(unit: Unit, outdoor_c: float | np.ndarray[tuple[int], np.dtype[np.float64]]) -> None:
    """Solve a sound unit in given weather."""
    operating_points(unit, Weather(299.8, 292.0, outdoor_c + 273.15))


def faulty(unit: Unit, count: int) -> None:
    """Solve random weather, charge, air flow and fouling, one call."""
    draw = np.random.default_rng(1)
    off = Departures(
        charge=draw.uniform(0.6, 1.3, count),
        indoor_air=draw.uniform(0.4, 1.3, count),
        outdoor_conductance=draw.uniform(0.5, 1.1, count),
    )
    operating_points(unit, Weather(299.0, 291.0, draw.uniform(291.0, 316.0, count)), off)


def span_s(act: Callable[[], object]) -> float:
    """Return the processor time of one go; other work on the machine does not count."""
    start = time.process_time()
    act()
    return time.process_time() - start


def over_weather_s(act: Callable[[float], object]) -> float:
    """Return the mean time of an act over outdoor temperatures [degC], after one untimed go."""
    act(30.0)
    return statistics.mean(span_s(partial(act, at)) for at in OUTDOOR_C.tolist())


def cycles(name: str) -> Iterator[Beside]:
    """Compare operating points with the peer's: both sides in turn, the fastest round of each."""
    unit, peer = unit_for(name), AirCoupledCycle(refrigerant_table(name).fluid.components)
    weather = np.linspace(22.0, 43.0, MANY)
    acts: dict[str, Callable[[], float]] = {
        "peer": lambda: over_weather_s(peer.solve),
        "one point, weather from one to the next": lambda: over_weather_s(partial(healthy, unit)),
        f"a point of {MANY:,} in one call, weather": lambda: (
            span_s(lambda: healthy(unit, weather)) / MANY
        ),
        f"a point of {MANY:,} in one call, weather and faults": lambda: (
            span_s(lambda: faulty(unit, MANY)) / MANY
        ),
    }
    rounds = [{what: act() for what, act in acts.items()} for _ in range(ROUNDS)]
    fastest = {what: min(each[what] for each in rounds) for what in acts}
    for what in list(acts)[1:]:
        yield Beside(f"{name}: {what}", fastest[what], fastest["peer"])


def properties(name: str) -> Iterator[Beside]:
    """Compare property calls with CoolProp's low-level interface."""
    table = refrigerant_table(name)
    state = low_level(table)
    pressure = np.random.default_rng(0).uniform(0.8e6, 2.5e6, CALLS)
    few = pressure[:200].tolist()
    dew = statistics.median(span_s(lambda: [_dew(state, each) for each in few]) for _ in range(3))
    array = statistics.median(span_s(lambda: table.saturation(pressure)) for _ in range(5))
    yield Beside(f"{name}: both saturation lines, arrays", array / CALLS, dew / 200)
    one = statistics.median(span_s(lambda: [_line(table, each) for each in few]) for _ in range(5))
    yield Beside(f"{name}: both saturation lines, one number", one / 200, dew / 200)
    hot = np.random.default_rng(0).uniform(5.0, 60.0, CALLS)
    gas = statistics.median(span_s(lambda: table.vapour_over_dew(pressure, hot)) for _ in range(5))
    kelvin = (table.saturation(pressure[:200]).dew_k + hot[:200]).tolist()
    states = list(zip(few, kelvin, strict=True))
    state.specify_phase(CoolProp.iphase_gas)
    theirs = statistics.median(
        span_s(lambda: [_gas(state, *each) for each in states]) for _ in "ab"
    )
    state.unspecify_phase()
    yield Beside(f"{name}: superheated gas, phase known, arrays", gas / CALLS, theirs / 200)


def low_level(table: RefrigerantTable) -> CoolProp.AbstractState:
    """Return CoolProp's state object for a table's fluid."""
    state = CoolProp.AbstractState("HEOS", table.fluid.components)
    if table.fluid.mole_fractions:
        state.set_mole_fractions(list(table.fluid.mole_fractions))
        state.build_phase_envelope("")
    return state


def _dew(state: CoolProp.AbstractState, pressure_pa: float) -> float:
    state.update(CoolProp.PQ_INPUTS, pressure_pa, 1.0)
    return float(state.hmass())


def _gas(state: CoolProp.AbstractState, pressure_pa: float, kelvin: float) -> float:
    state.update(CoolProp.PT_INPUTS, pressure_pa, kelvin)
    return float(state.hmass())


def _line(table: RefrigerantTable, pressure_pa: float) -> object:
    return table.saturation(pressure_pa)  # type: ignore[arg-type]


def moist_air() -> Iterator[Beside]:
    """Compare the humidity ratio from dry and wet bulb with psychrolib's."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    dry = np.random.default_rng(0).uniform(10.0, 40.0, CALLS)
    wet = dry - np.random.default_rng(1).uniform(0.0, 8.0, CALLS)
    ours = statistics.median(
        span_s(lambda: humidity_ratio_from_wet_bulb(dry + 273.15, wet + 273.15, BARS))
        for _ in range(5)
    )
    pairs = list(zip(dry[:2000].tolist(), wet[:2000].tolist(), strict=True))
    peer = statistics.median(
        span_s(lambda: [psychrolib.GetHumRatioFromTWetBulb(a, b, BARS) for a, b in pairs])
        for _ in range(3)
    )
    yield Beside("humidity ratio from wet bulb, arrays", ours / CALLS, peer / len(pairs))


def measurements() -> Iterator[Measurement]:
    """Time a fit, one operating point, and ten thousand in one call."""
    unit = unit_for("R-410A")
    yield measure("cycle: fit a unit to its nameplate", lambda: unit_for("R-410A"))
    yield measure("cycle: one operating point", lambda: healthy(unit, 32.0), times=20)
    weather = np.linspace(22.0, 43.0, MANY)
    yield measure("cycle: 10 000 points, weather only", lambda: healthy(unit, weather))
    yield measure("cycle: 10 000 points, faults drawn", lambda: faulty(unit, MANY))


HEAD: Final = """# Times of the refrigerant cycle

Obtained with `python -m benchmarks.bench_cycle > benchmarks/cycle.md`, one process, on {machine}
with Python {python}, numpy {numpy}, CoolProp {coolprop}, TESPy {tespy}, psychrolib {psychrolib}.
Processor time (other work shared the machine), both sides in the same run: of operating points the
fastest of {rounds} rounds in turn, of properties medians.

| what | here, µs | peer, µs | times as fast |
|---|---|---|---|"""

TAIL: Final = """
**What is compared.** Peer of the operating points: a cycle in TESPy with two air-coupled heat
exchangers, solved off design at 31 outdoor temperatures, each from the last. TESPy solves any
network of components, of which this cycle is one, and takes every property from CoolProp's
equations of state. Its cycle here has dry air, fixed conductances, efficiency and suction volume
flow; evaporating and condensing temperature are free, superheat and subcooling imposed. Ours solves
superheat and subcooling too: charge, metering device, compressor map, wet coil, zones of the coils,
line set; and gives all readings of `OperatingPoints`. It knows this one machine, takes properties
from tables made beforehand (errors in docs/models/refrigerant-and-cycle.md), leaves out what that
page lists, and begins its search from what was learnt when the unit was fitted (nine points, part
of the fit). Weather and faults: charge 60 to 130 %, indoor air 40 to 130 %, outdoor
conductance 50 to 110 %.

Peer of the properties: CoolProp's low-level interface called from Python, one state and one
enthalpy a call; ours gives eight saturation properties, or three of the gas, by straight lines
between nodes. One number at a time CoolProp is the faster for a pure fluid.

Fitting a unit takes {fit:.2f} s. Load averages at the end: {load}, on {cores} cores."""


def main() -> None:
    """Print the page."""
    names = ("numpy", "coolprop", "tespy", "psychrolib")
    versions = {name: version(name) for name in names}
    print(
        HEAD.format(
            machine=platform.machine(), python=platform.python_version(), rounds=ROUNDS, **versions
        )
    )
    for name in ("R-410A", "R-32"):
        print(*cycles(name), sep="\n", flush=True)
    for name in ("R-410A", "R-32", "R-454B"):
        print(*properties(name), sep="\n", flush=True)
    print(*moist_air(), sep="\n")
    fit = statistics.median(span_s(lambda: unit_for("R-410A")) for _ in range(3))
    load = ", ".join(f"{each:.1f}" for each in os.getloadavg())
    print(TAIL.format(fit=fit, load=load, cores=os.cpu_count()))


if __name__ == "__main__":
    main()
