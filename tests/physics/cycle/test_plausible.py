"""Readings that cannot be are questioned; those of any machine, sound or faulty, are not."""

from dataclasses import replace

import numpy as np
import pytest

from catchpan.physics.cycle.design import Design
from catchpan.physics.cycle.limits import Limit
from catchpan.physics.cycle.plausible import MOST_SUBCOOLING_K, Mistake, Readings, doubts
from catchpan.physics.cycle.rating import TEST_A
from catchpan.physics.cycle.solve import OperatingPoints, operating_points
from catchpan.physics.cycle.unit import Departures, Unit, Weather
from catchpan.physics.cycle.which_refrigerant import fits
from catchpan.physics.refrigerant.fluid import REFRIGERANTS
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.units.errors import OutOfRange
from tests.physics.cycle.conftest import cooling
from tests.physics.cycle.test_solve import envelope

TABLES = {name: refrigerant_table(name) for name in REFRIGERANTS}
PSI = 6894.757


def readings(points: OperatingPoints, weather: Weather, i: int, *, heating: bool) -> Readings:
    """Return what a technician reads at one point, without error."""
    dry, wet, out = (
        float(np.broadcast_to(each, points.net_w.shape)[i])
        for each in (weather.indoor_k, weather.indoor_wet_bulb_k, weather.outdoor_k)
    )
    return Readings(
        suction_pa=float(points.suction_pa[i]),
        liquid_pa=float(points.liquid_pa[i]),
        suction_line_k=float(points.suction_line_k[i]),
        liquid_line_k=float(points.liquid_line_k[i]),
        discharge_k=float(points.discharge_k[i]),
        return_k=dry,
        return_wet_bulb_k=wet,
        supply_k=float(points.indoor_leaving_k[i]),
        outdoor_k=out,
        heating=heating,
    )


def noisy(exact: Readings, draw: np.random.Generator) -> Readings:
    """Return readings with the errors of decent instruments."""
    k, psi = draw.normal(0.0, 0.36, 8).tolist(), draw.normal(0.0, PSI, 2).tolist()
    names = ("suction_line_k", "liquid_line_k", "discharge_k", "return_k", "supply_k", "outdoor_k")
    changed = {name: getattr(exact, name) + off for name, off in zip(names, k, strict=False)}
    wet = min(exact.return_wet_bulb_k or 0.0, changed["return_k"])
    pressures = {"suction_pa": 1.75 * psi[0], "liquid_pa": 3.5 * psi[1]}
    changed |= {name: getattr(exact, name) + off for name, off in pressures.items()}
    return replace(exact, return_wet_bulb_k=wet, **changed)


@pytest.mark.parametrize("fixture", ["valve_unit", "old_orifice_unit", "heat_pump"])
def test_no_machine_that_runs_is_doubted(fixture: str, request: pytest.FixtureRequest) -> None:
    """Random weather and faults over the whole envelope, with instrument errors; the refrigerant
    is doubted in one of thirty at most."""
    unit: Unit = request.getfixturevalue(fixture)
    heating = fixture == "heat_pump"
    weather, off = envelope(200, heating=heating)
    points = operating_points(unit, weather, off, heating=heating)
    runs = np.flatnonzero((points.limits & int(Limit.BEYOND_TABLES)) == 0)
    draw = np.random.default_rng(7)
    table = unit.table
    wrong = 0
    for i in runs:
        read = noisy(readings(points, weather, int(i), heating=heating), draw)
        known = points.subcooling_k[i] < MOST_SUBCOOLING_K
        assert [
            each for each in doubts(read, table) if known or "subcooling" not in each.what
        ] == []
        fit = fits(read, TABLES)
        assert fit is not None
        wrong += fit.speaks_against(table.fluid.name)
    assert wrong / runs.size < 0.034


@pytest.fixture
def sound(valve_unit: Unit) -> Readings:
    return readings(operating_points(valve_unit, TEST_A), TEST_A, 0, heating=False)


def planted(name: str, sound: Readings) -> Readings:
    """Return a sound machine's readings with one mistake made."""
    air = 299.8
    changes: dict[str, dict[str, float | None]] = {
        "gauges": {"suction_pa": sound.liquid_pa, "liquid_pa": sound.suction_pa},
        "clamps": {"liquid_line_k": sound.discharge_k, "discharge_k": sound.liquid_line_k},
        "bulbs": {"return_k": sound.return_wet_bulb_k, "return_wet_bulb_k": sound.return_k},
        "places": {"return_k": sound.supply_k, "supply_k": sound.return_k},
        "liquid clamp in the shade": {"liquid_line_k": air},
        "suction clamp in the sun": {"suction_line_k": 318.0},
        "subcooling of 60 degF": {"liquid_line_k": 319.0 - 60 / 1.8, "outdoor_k": None},
        "not pumping": {"suction_pa": 1.7e6, "liquid_pa": 1.72e6},
        "kilopascal": {"liquid_pa": 25.7e6},
        "psi as pascal": {"suction_pa": 135.0},
    }
    return replace(sound, **changes[name])  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("name", "first", "words"),
    [
        ("gauges", Mistake.GAUGES_SWAPPED, "suction pressure above liquid"),
        ("clamps", Mistake.CLAMPS_SWAPPED, "liquid line warmer than the discharge"),
        ("bulbs", Mistake.BULBS_SWAPPED, "wet bulb above dry bulb"),
        ("places", Mistake.PLACES_SWAPPED, "supply air warmer"),
        ("liquid clamp in the shade", Mistake.OFF_THE_PIPE, "colder than the air"),
        ("suction clamp in the sun", Mistake.OFF_THE_PIPE, "suction line warmer than any air"),
        ("subcooling of 60 degF", Mistake.OFF_THE_PIPE, "more subcooling"),
        ("not pumping", Mistake.NOT_PUMPING, "the same on a running system"),
        ("kilopascal", Mistake.WRONG_UNIT, "no R-410A system runs"),
        ("psi as pascal", Mistake.WRONG_UNIT, "no R-410A system runs"),
    ],
)
def test_a_planted_mistake_is_named(sound: Readings, name: str, first: Mistake, words: str) -> None:
    found = doubts(planted(name, sound), TABLES["R-410A"])
    said = [doubt for doubt in found if words in doubt.what]
    assert said, found
    assert first in said[0].mistakes
    assert all(doubt.beyond > 0.0 and doubt.mistakes and doubt.readings for doubt in found)


ALIKE = {"R-410A", "R-32", "R-454B"}


@pytest.mark.parametrize("is_valve", [True, False])
@pytest.mark.parametrize("name", ["R-22", "R-134a", "R-410A"])
def test_a_wrong_refrigerant_is_noticed_and_the_right_one_is_among_those_named(
    name: str, *, is_valve: bool
) -> None:
    """Moderate weather and faults: nine in ten wrong choices between the families are noticed."""
    unit = cooling(name, 11.0, 9.8, Design(2.6, is_valve=is_valve))
    draw = np.random.default_rng(2)
    weather = Weather(298.0, 290.5, draw.uniform(298.0, 312.0, 60))
    off = Departures(charge=draw.uniform(0.75, 1.15, 60), indoor_air=draw.uniform(0.6, 1.2, 60))
    points = operating_points(unit, weather, off)
    family = ALIKE if name in ALIKE else {name}
    noticed, named = [], []
    for i in range(60):
        fit = fits(noisy(readings(points, weather, i, heating=False), draw), TABLES)
        assert fit is not None
        noticed += [fit.speaks_against(other) for other in TABLES if other not in family]
        named.append(name in fit.alike)
    assert np.mean(noticed) > 0.9
    assert np.mean(named) > 0.95


def test_two_refrigerants_of_like_pressure_are_not_told_apart(sound: Readings) -> None:
    fit = fits(sound, TABLES)
    assert fit is not None
    assert set(fit.alike) >= {"R-410A", "R-32"}
    assert fit.speaks_against("R-22")


def test_nothing_to_hold_against_each_other_is_no_answer() -> None:
    assert fits(Readings(suction_pa=9e5), TABLES) is None
    assert doubts(Readings()) == []


@pytest.mark.parametrize(
    ("read", "words"),
    [
        (Readings(liquid_line_k=np.nan), "liquid line temperature"),
        (Readings(suction_pa=-5.0), "suction pressure"),
        (Readings(return_k=80.0), "return temperature"),
    ],
)
def test_what_is_no_reading_at_all_is_refused(read: Readings, words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        doubts(read, TABLES["R-22"])
