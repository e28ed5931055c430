"""Superheat, subcooling, split and capacity against model and published chart, with a verdict."""

from dataclasses import asdict

import pytest

from catchpan.diagnosis.cases.measured_capacity import measured_capacities
from catchpan.diagnosis.cases.target_words import targets_heading, targets_lines
from catchpan.diagnosis.cases.todays_targets import Todays, plate_of, todays_targets
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.worlds.description import Description
from catchpan.physics.cycle.solve import operating_points
from catchpan.physics.cycle.unit import Weather
from catchpan.plant.refrigeration import Nameplate, unit_of
from tests.diagnosis.small_catalog import cycle_family
from tests.diagnosis.test_panel_belief import read

WEATHER = {"outdoor-air": 95.0, "return-air": 80.0, "return-wet-bulb": 67.0}
MEASURED_IN_BOTH = ((14355.650671, 1703.630475), (7750.395151, 735.832716))
"""The same readings give the same on the phone (field/test/reckoning.test.ts)."""

CFM = 0.3048**3 / 60.0

R22 = Nameplate("R-22", 3.0, 11.0, is_valve=False)


def todays(metering: str, plate: Nameplate, **values: float) -> Todays:
    named = {**WEATHER, **{k.replace("_", "-"): v for k, v in values.items()}}
    held = Belief.prior(cycle_family(metering))
    found = todays_targets(held.observe_all(read(k, v) for k, v in named.items()), plate)
    assert found is not None
    return found


def verdicts(found: Todays, name: str) -> list[str]:
    one = found.of(name)
    assert one is not None
    return [t.verdict for t in one.targets]


def test_an_orifice_is_held_against_its_own_model_and_the_published_chart() -> None:
    """95 degF outdoors and 67 degF wet bulb: 12 degF on the published chart."""
    superheat = todays("orifice", R22, superheat=35.0).of("superheat")
    assert superheat is not None
    model, chart = superheat.targets
    assert "model" in model.source
    assert "chart" in chart.source
    assert chart.value == pytest.approx(12.0)
    assert model.value == pytest.approx(12.0, abs=4.0)
    assert [model.verdict, chart.verdict] == ["high", "high"]


def test_near_the_edge_of_the_band_it_is_too_close_to_call() -> None:
    assert verdicts(todays("orifice", R22, superheat=17.0), "superheat")[1] == "too-close"
    assert verdicts(todays("orifice", R22, superheat=12.0), "superheat")[1] == "ok"


def test_weather_nobody_measured_widens_the_targets_until_nothing_can_be_called() -> None:
    held = Belief.prior(cycle_family("orifice")).observe(read("superheat", 22.0))
    blind = todays_targets(held, R22)
    assert blind is not None
    assert set(verdicts(blind, "superheat")) == {"too-close"}
    assert verdicts(todays("orifice", R22, superheat=22.0), "superheat")[1] == "high"


def test_a_valve_is_held_against_the_usual_range() -> None:
    plate = Nameplate()
    assert verdicts(todays("txv", plate, superheat=14.0), "superheat")[1] == "ok"
    assert verdicts(todays("txv", plate, superheat=40.0), "superheat")[1] == "high"
    low, high = (verdicts(todays("txv", plate, subcooling=s), "subcooling")[0] for s in (0.0, 25.0))
    assert (low, high) == ("low", "high")


def test_differences_are_worked_out_from_their_parts() -> None:
    parts = {"suction_pressure": 130.0, "suction_line": 60.0, "supply_air": 62.0}
    found = todays("txv", Nameplate(), **parts)
    split, superheat = found.of("split"), found.of("superheat")
    assert split is not None
    assert split.reading == pytest.approx(18.0, abs=0.1)
    assert superheat is not None
    assert superheat.reading == pytest.approx(60.0 - 45.2, abs=1.0)


def test_capacity_for_today_falls_as_it_gets_hotter() -> None:
    plate = Nameplate()
    mild, hot = (todays("txv", plate, outdoor_air=f).of("capacity") for f in (82.0, 105.0))
    assert mild is not None
    assert hot is not None
    assert (mild.targets[0].value or 0.0) > 1.06 * (hot.targets[0].value or 0.0)
    assert 30000 < (hot.targets[0].value or 0.0) < 36000


def test_the_plate_of_a_described_system_and_what_stands_in_for_an_unread_one() -> None:
    known = Description("air-conditioner-furnace", {"refrigerant": "r22", "tons": "four"})
    setting = {"metering": "orifice", "blower": "psc"}
    family = cycle_family("orifice")
    plate = plate_of(known, {**family.settings[0], **setting})
    assert (plate.refrigerant, plate.tons, plate.is_valve) == ("R-22", 4.0, False)


def test_the_words_name_unit_weather_and_verdict() -> None:
    found = todays("orifice", R22, superheat=35.0)
    assert "R-22" in targets_heading(found)
    assert "95 °F outdoors" in targets_heading(found)
    (line,) = targets_lines(found, "superheat")
    assert "read 35.0" in line
    assert "too high" in line
    assert len(list(targets_lines(found))) == len(found.judged) == len(asdict(found)["judged"])


MEASURED = {
    "return_wet_bulb": 71.0,
    "supply_air": 60.0,
    "supply_wet_bulb": 59.0,
    "condensate": 3.6,
}


def test_capacity_is_measured_from_the_air_and_the_water_it_left_behind() -> None:
    one = todays("txv", Nameplate(), **MEASURED).of("capacity")
    assert one is not None
    assert one.reading is not None
    assert one.deviation is not None
    assert one.targets[0].verdict == "too-close"
    assert 0.03 * one.reading < one.deviation < 0.5 * one.reading
    half = todays("txv", Nameplate(), **{**MEASURED, "condensate": 1.2}).of("capacity")
    assert half is not None
    assert half.reading == pytest.approx(one.reading / 3.0, rel=0.01)
    assert half.targets[0].verdict == "low"
    for name in ("supply_air", "supply_wet_bulb", "condensate"):
        left = {k: v for k, v in MEASURED.items() if k != name}
        found = todays("txv", Nameplate(), **left).of("capacity")
        assert found is not None
        assert found.reading is None
        assert not found.targets[0].verdict


def test_what_the_model_itself_would_be_measured_at_is_what_it_says_it_does() -> None:
    weather = Weather(299.82, 292.59, 308.15)
    at = operating_points(unit_of(Nameplate()), weather)
    water = float(at.condensate_kg_s[0]) / 1000.0
    supply, supply_wet = float(at.indoor_leaving_k[0]), float(at.indoor_leaving_wet_bulb_k[0])
    values = (299.82, 292.59, supply, supply_wet, water)
    total, sensible = measured_capacities(values, (0.4, 0.4, 0.4, 0.4, 1e-7))
    assert total is not None
    assert sensible is not None
    assert total[0] == pytest.approx(float(at.net_w[0]), rel=0.02)
    assert sensible[0] == pytest.approx(float(at.sensible_w[0]), rel=0.03)
    assert measured_capacities((*values[:3], 292.0, water), (0.4,) * 5) == (None, None)


def test_an_airflow_by_the_heater_s_rise_makes_the_capacity_surer_than_the_water() -> None:
    """1,200 cfm of standard air over three tons: Btu/h = 4.5 cfm times the fall in enthalpy."""
    air = {k: v for k, v in MEASURED.items() if k != "condensate"}
    named = {**WEATHER, **{k.replace("_", "-"): v for k, v in air.items()}}
    readings = [read(k, v) for k, v in named.items()]
    readings.append(Reading("air/airflow-by-rise", value_si=400 * CFM))
    held = Belief.prior(cycle_family("txv")).observe_all(readings)
    found = todays_targets(held, Nameplate())
    assert found is not None
    one, by_water = found.of("capacity"), todays("txv", Nameplate(), **MEASURED).of("capacity")
    assert one is not None
    assert by_water is not None
    assert one.reading is not None
    assert one.reading == pytest.approx(4.5 * 1200 * (34.9 - 25.8), rel=0.03)
    assert one.deviation is not None
    assert by_water.deviation is not None
    assert by_water.reading is not None
    assert one.deviation / one.reading < 0.8 * by_water.deviation / by_water.reading
    known = (299.82, 294.82, 288.71, 288.15, 0.5663)
    total, sensible = measured_capacities(known, (0.4, 0.4, 0.4, 0.4, 0.0453), by_water=False)
    assert total == pytest.approx(MEASURED_IN_BOTH[0])
    assert sensible == pytest.approx(MEASURED_IN_BOTH[1])
