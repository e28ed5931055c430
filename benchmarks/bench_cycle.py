"""Operating points per second, and property calls, beside the library the tables are made of."""

from collections.abc import Iterator

import numpy as np
from CoolProp import CoolProp

from benchmarks.measurement import Measurement, measure
from catchpan.physics.cycle.design import Design
from catchpan.physics.cycle.rating import Rating, cop_b_from_seer, cop_from_eer, fit_unit
from catchpan.physics.cycle.solve import operating_points
from catchpan.physics.cycle.unit import Departures, Unit, Weather
from catchpan.physics.refrigerant.shelf import refrigerant_table

MANY = 10_000
CALLS = 100_000


def _unit() -> Unit:
    rating = Rating(8800.0, cop_from_eer(11.2), cop_b=cop_b_from_seer(13.0))
    return fit_unit(refrigerant_table("R-410A"), rating, Design(2.5))


def _healthy(unit: Unit, count: int) -> None:
    operating_points(unit, Weather(299.0, 291.0, np.linspace(295.0, 316.0, count)))


def _faulty(unit: Unit, count: int) -> None:
    draw = np.random.default_rng(1)
    off = Departures(
        charge=draw.uniform(0.6, 1.3, count),
        indoor_air=draw.uniform(0.4, 1.3, count),
        outdoor_conductance=draw.uniform(0.5, 1.1, count),
    )
    operating_points(unit, Weather(299.0, 291.0, draw.uniform(291.0, 316.0, count)), off)


def _library_calls(state: CoolProp.AbstractState, pressures: list[float]) -> None:
    for pressure in pressures:
        state.update(CoolProp.PQ_INPUTS, pressure, 1.0)
        state.hmass()


def _tables(name: str) -> Iterator[Measurement]:
    table = refrigerant_table(name)
    pressure = np.random.default_rng(0).uniform(0.8e6, 3.0e6, CALLS)
    superheat = np.random.default_rng(0).uniform(0.0, 60.0, CALLS)
    yield measure(f"{name}: both saturation lines, 1e5", lambda: table.saturation(pressure))
    yield measure(
        f"{name}: superheated gas, 1e5", lambda: table.vapour_over_dew(pressure, superheat)
    )
    state = CoolProp.AbstractState("HEOS", table.fluid.components)
    few = pressure[:1000].tolist()
    if table.fluid.mole_fractions:
        state.set_mole_fractions(list(table.fluid.mole_fractions))
        state.build_phase_envelope("")
        few = [each for each in few if each < 2.5e6][:200]
    yield measure(
        f"{name}: CoolProp low level, dew, {len(few)}", lambda: _library_calls(state, few)
    )


def measurements() -> Iterator[Measurement]:
    """Time property lookups, one operating point, and ten thousand in one call."""
    for name in ("R-410A", "R-454B"):
        yield from _tables(name)
    unit = _unit()
    yield measure("cycle: fit a unit to its nameplate", _unit)
    yield measure("cycle: one operating point", lambda: _healthy(unit, 1), times=20)
    yield measure("cycle: 10 000 points, weather only", lambda: _healthy(unit, MANY))
    yield measure("cycle: 10 000 points, faults drawn", lambda: _faulty(unit, MANY))
