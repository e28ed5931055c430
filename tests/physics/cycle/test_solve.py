"""Operating points: balances, batches, limits, the whole envelope."""

from dataclasses import fields, replace

import numpy as np
import pytest

from catchpan.physics.cycle.limits import Limit, limit_words
from catchpan.physics.cycle.nameplate import Nameplate, unit_from_nameplate
from catchpan.physics.cycle.rating import TEST_A, TEST_H1
from catchpan.physics.cycle.solve import OperatingPoints, operating_points
from catchpan.physics.cycle.unit import Departures, Unit, Weather
from catchpan.physics.moist_air import humidity_ratio_from_wet_bulb
from catchpan.physics.refrigerant.fluid import REFRIGERANTS
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.units.errors import BadValue, OutOfRange


def kelvin(degf: float) -> float:
    return (degf + 459.67) / 1.8


def envelope(count: int, *, heating: bool) -> tuple[Weather, Departures]:
    """Draw the envelope: 60-90 degF and 50-76 degF wet indoors, 17-115 degF out, and faults."""
    draw = np.random.default_rng(20)
    dry = draw.uniform(kelvin(60), kelvin(90), count)
    wet = np.minimum(draw.uniform(kelvin(50), kelvin(76), count), dry - 0.1)
    out = draw.uniform(kelvin(17), kelvin(65 if heating else 115), count)
    off = Departures(
        charge=draw.uniform(0.5, 1.4, count),
        indoor_air=draw.uniform(0.3, 1.5, count),
        outdoor_conductance=draw.uniform(0.4, 1.1, count),
    )
    return Weather(dry, wet, out), off


def flagged(points: OperatingPoints, limit: Limit) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    return (points.limits & int(limit)) > 0


@pytest.mark.parametrize("fixture", ["valve_unit", "orifice_unit", "old_orifice_unit", "heat_pump"])
def test_the_whole_envelope_has_an_answer_or_a_reason(
    fixture: str, request: pytest.FixtureRequest
) -> None:
    unit: Unit = request.getfixturevalue(fixture)
    heating = fixture == "heat_pump"
    points = operating_points(unit, *envelope(1500, heating=heating), heating=heating)
    for each in fields(points):
        assert np.isfinite(getattr(points, each.name)).all(), each.name
    open_ = points.error > 1e-4
    assert flagged(points, Limit.BEYOND_TABLES)[open_].all()
    assert flagged(points, Limit.HIGH_PRESSURE)[open_].all()
    assert open_.mean() < 0.02
    assert not flagged(points, Limit.NOT_CLOSED).any()


@pytest.mark.parametrize("is_valve", [True, False])
@pytest.mark.parametrize("name", REFRIGERANTS)
def test_every_refrigerant_and_device_has_an_answer_or_a_reason(
    name: str, *, is_valve: bool
) -> None:
    """A heat pump of each kind, cooling and heating, 150 random points of the envelope each."""
    seer = 10.5 if name in {"R-22", "R-134a"} else 13.5
    plate = Nameplate(2.5, seer, is_valve=is_valve, is_heat_pump=True)
    unit = unit_from_nameplate(refrigerant_table(name), plate, refrigerant_table("R-410A"))
    for heating in (False, True):
        points = operating_points(unit, *envelope(150, heating=heating), heating=heating)
        left_open = points.error > 1e-4
        assert not flagged(points, Limit.NOT_CLOSED).any()
        assert flagged(points, Limit.BEYOND_TABLES)[left_open].all()
        assert left_open.mean() < 0.04
        for each in fields(points):
            assert np.isfinite(getattr(points, each.name)).all(), each.name


def test_energy_is_conserved_round_the_circuit(valve_unit: Unit) -> None:
    out = np.linspace(295.0, 318.0, 9)
    weather = Weather(299.8, 292.6, out, outdoor_wet_bulb_k=out - 8.0)
    points = operating_points(valve_unit, weather, Departures(charge=0.85))
    ratio = humidity_ratio_from_wet_bulb(out, out - 8.0, 101325.0)
    air = valve_unit.outdoor.rated_air_kg_s * (1006.0 + 1860.0 * ratio)
    rejected = (points.outdoor_leaving_k - out) * air
    shell = valve_unit.compressor.heat_loss_share * points.compressor_w
    conductance = valve_unit.lines.heat_gain_w_m_k * valve_unit.lines.length_m
    line = conductance * (out - points.suction_line_k)
    assert rejected == pytest.approx(points.coil_w + points.compressor_w - shell + line, rel=1e-4)


def test_many_at_once_are_the_same_as_one_by_one(orifice_unit: Unit) -> None:
    out = np.array([293.0, 305.0, 315.0])
    charge = np.array([0.7, 1.0, 1.2])
    together = operating_points(orifice_unit, Weather(299.0, 291.0, out), Departures(charge=charge))
    for i in range(3):
        alone = operating_points(
            orifice_unit, Weather(299.0, 291.0, out[i]), Departures(charge=charge[i])
        )
        assert alone.superheat_k[0] == pytest.approx(together.superheat_k[i], abs=1e-3)
        assert alone.net_w[0] == pytest.approx(together.net_w[i], rel=1e-5)


def test_ten_thousand_points_in_one_call(valve_unit: Unit) -> None:
    weather = Weather(299.0, 291.0, np.linspace(290.0, 318.0, 100)[:, None])
    points = operating_points(valve_unit, weather, Departures(charge=np.linspace(0.7, 1.2, 100)))
    assert points.net_w.shape == (10_000,)
    assert (points.error < 1e-4).all()


@pytest.mark.parametrize(
    ("off", "limit"),
    [
        (Departures(charge=1.25), Limit.FLOODBACK),
        (Departures(charge=0.7), Limit.NO_SUBCOOLING),
        (Departures(charge=0.5, indoor_air=0.4), Limit.FREEZE),
        (Departures(outdoor_air=0.15), Limit.HIGH_PRESSURE),
        (Departures(metering_area=0.1), Limit.LOW_PRESSURE),
        (Departures(restriction=3.0), Limit.HOT_DISCHARGE),
    ],
)
def test_limits_are_named(orifice_unit: Unit, off: Departures, limit: Limit) -> None:
    points = operating_points(orifice_unit, TEST_A, off)
    assert flagged(points, limit).all(), limit_words(int(points.limits[0]))
    assert not flagged(operating_points(orifice_unit, TEST_A), limit).any()
    assert limit_words(int(limit))


def test_a_starved_valve_says_it_is_wide_open(valve_unit: Unit) -> None:
    starved = operating_points(valve_unit, TEST_A, Departures(charge=0.7))
    assert flagged(starved, Limit.VALVE_WIDE_OPEN).all()
    assert not flagged(operating_points(valve_unit, TEST_A), Limit.VALVE_WIDE_OPEN).any()


def test_beyond_the_tables_is_said_with_the_high_pressure_switch(valve_unit: Unit) -> None:
    hot = operating_points(valve_unit, Weather(305.0, 297.0, 320.0), Departures(outdoor_air=0.15))
    assert flagged(hot, Limit.BEYOND_TABLES).all()
    assert flagged(hot, Limit.HIGH_PRESSURE).all()
    assert np.isfinite(hot.discharge_k).all()


def test_an_accumulator_keeps_surplus_from_the_compressor(heat_pump: Unit) -> None:
    wide = Departures(metering_area=2.5, stuck_opening=1.0)
    points = operating_points(heat_pump, TEST_H1, wide, heating=True)
    assert points.accumulator_kg[0] > 0.1
    assert 0.9 < points.suction_quality[0] < 1.0


def test_a_longer_line_set_loses_capacity_and_wants_its_own_charge(valve_unit: Unit) -> None:
    long = replace(valve_unit.lines, length_m=30.0)
    unit = replace(valve_unit, lines=long)
    short_of_charge = operating_points(unit, TEST_A)
    more = (30.0 - valve_unit.lines.length_m) * 0.0558
    right = operating_points(replace(unit, charge_kg=unit.charge_kg + more), TEST_A)
    sound = operating_points(valve_unit, TEST_A)
    assert short_of_charge.subcooling_k[0] < 1.0
    assert right.subcooling_k[0] == pytest.approx(sound.subcooling_k[0], abs=1.5)
    assert right.coil_w[0] < sound.coil_w[0]


def test_low_voltage_draws_more_current(valve_unit: Unit) -> None:
    weather = Weather(299.8, 292.6, 308.15, voltage_v=np.array([208.0, 230.0]))
    low, right = operating_points(valve_unit, weather).compressor_a
    assert low / right == pytest.approx(230 / 208)


def test_thin_air_at_altitude_raises_the_head(valve_unit: Unit) -> None:
    sea, high = (
        operating_points(valve_unit, Weather(299.8, 290.0, 308.15, barometer_pa=p))
        for p in (101325.0, 81200.0)
    )
    assert high.liquid_pa > sea.liquid_pa
    assert high.coil_w < sea.coil_w


def test_an_air_conditioner_cannot_heat(valve_unit: Unit) -> None:
    with pytest.raises(BadValue, match="air conditioner"):
        operating_points(valve_unit, TEST_H1, heating=True)


@pytest.mark.parametrize(
    ("weather", "off", "words"),
    [
        (Weather(400.0, 290.0, 308.0), Departures(), "indoor temperature"),
        (Weather(299.0, 290.0, 150.0), Departures(), "outdoor temperature"),
        (Weather(290.0, 299.0, 308.0), Departures(), "wet bulb above dry bulb"),
        (Weather(299.0, 290.0, 308.0), Departures(charge=0.0), "charge"),
        (Weather(299.0, 290.0, 308.0), Departures(stuck_opening=2.0), "stuck opening"),
    ],
)
def test_what_cannot_be_is_refused(
    valve_unit: Unit, weather: Weather, off: Departures, words: str
) -> None:
    with pytest.raises(OutOfRange, match=words):
        operating_points(valve_unit, weather, off)
