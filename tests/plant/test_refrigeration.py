"""The circuit of a plant: what it is given, what it then reads, and where the cycle has no answer.

Directions are common practice of the trade, no source, unless a test says otherwise.
"""

from dataclasses import replace

import numpy as np
import pytest

from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.plant.degrees import MOTORS, departures_at
from catchpan.plant.parts.cooling import FREEZES_K, MILDEST_INDOOR_C, MILDEST_OUTDOOR_C
from catchpan.plant.refrigeration import (
    COLUMN,
    DEPARTURES,
    HEALTHY,
    Air,
    Memory,
    Nameplate,
    air_of,
    running,
    standing,
    unit_of,
    warmed_wet_bulb_k,
)
from catchpan.plant.settle import settle
from tests.plant.bench import GAS, HEAT_PUMP, look, opened, plant, signal, surroundings, to

AIR = air_of(33.0, 26.5, 0.5)
TXV = Nameplate()


def row(**changed: float) -> list[float]:
    return [changed.get(name, usual) for name, usual in zip(DEPARTURES, HEALTHY, strict=True)]


def read(name: str, *rows: list[float], plate: Nameplate = TXV) -> list[float]:
    table = running(plate, AIR, np.array(rows), heating=False)
    return [float(x) for x in table[:, COLUMN[name]]]


def test_a_unit_is_fitted_once_for_each_plate_and_delivers_its_tons() -> None:
    """Net capacity at test A is 0.97 of the nominal tons (assumed); the visit is near test A."""
    assert unit_of(TXV) is unit_of(Nameplate())
    for tons in (2.0, 5.0):
        (watts,) = read("net_w", row(), plate=Nameplate(tons=tons))
        assert watts == pytest.approx(tons * 3517.0 * 0.97, rel=0.08)


def test_the_same_circuit_is_not_solved_again() -> None:
    known = Memory(TXV, AIR, heating=False)
    first = known.read(np.array([row(), row(charge=0.8), row()]))
    assert np.array_equal(first[0], first[2])
    assert np.array_equal(known.read(np.array([row(charge=0.8)]))[0], first[1])


def test_readings_go_on_steadily_as_the_last_of_the_charge_is_lost() -> None:
    charges = (0.45, 0.4, 0.3, 0.2, 0.1, 0.05)
    rows = [row(charge=c) for c in charges]
    watts, boiling = read("net_w", *rows), read("evaporating_k", *rows)
    assert watts == sorted(watts, reverse=True)
    assert boiling == sorted(boiling, reverse=True)
    assert watts[-1] == pytest.approx(0.0)


def test_without_air_the_condenser_climbs_beyond_every_switch() -> None:
    least, none, stopped = read(
        "condensing_k", row(outdoor_air=0.4), row(outdoor_air=0.2), row(outdoor_air=0.08)
    )
    assert least < none < stopped
    assert stopped > 338.65


def test_at_rest_the_pressures_equalise_at_the_colder_air() -> None:
    """Saturation at the coldest spot: physics of a closed vessel that holds liquid."""
    table = standing(AIR, 1)[0]
    assert table[COLUMN["evaporating_k"]] == table[COLUMN["condensing_k"]] == 299.65
    assert table[COLUMN["compressor_a"]] == 0.0


@pytest.mark.parametrize("metering", ["txv", "orifice"])
def test_an_iced_coil_has_readings_of_its_own(metering: str) -> None:
    sound = look(GAS, "cool", metering=metering)
    iced = look(GAS, "cool", [to("coil.ice", 1.0)], metering=metering)
    assert signal(iced, "air.flow_share") < 0.5
    for name in ("cycle.evaporating_k", "cycle.suction_line_k", "condensate.kg_s"):
        assert signal(iced, name) < signal(sound, name)
    assert signal(iced, "suction_line.frosted") == 1.0
    assert signal(sound, "suction_line.frosted") == 0.0


NIGHT = air_of(23.0, 22.5, 0.5)
PLAIN_TUBES, GROOVED_TUBES = Nameplate("R-22", seer=10.0), Nameplate(seer=14.0)


def ices_at(name: str, plate: Nameplate) -> float:
    """Return the share of air or charge under which a coil ices by night."""
    shares = np.linspace(0.45, 1.0, 23)
    rows = np.array([row(**{name: float(share)}) for share in shares])
    surface = running(plate, NIGHT, rows, heating=False)[:, COLUMN["surface_k"]]
    rising = slice(int(surface.argmax()) + 1)
    return float(np.interp(FREEZES_K, surface[rising], shares[rising]))


@pytest.mark.parametrize(("name", "low", "high"), [("indoor_air", 0.5, 0.8), ("charge", 0.6, 0.8)])
def test_coils_of_either_make_ice_at_the_same_share_of_air_or_charge(
    name: str, low: float, high: float
) -> None:
    """Below 300 cfm a ton or two thirds of the charge the trade expects ice (common practice); the
    tubes' make moves saturation by 2 K, not the surface that the air's heat asks for."""
    plain, grooved = (ices_at(name, plate) for plate in (PLAIN_TUBES, GROOVED_TUBES))
    assert low < grooved < high
    assert plain == pytest.approx(grooved, abs=0.06)


@pytest.mark.parametrize("plate", [PLAIN_TUBES, GROOVED_TUBES])
@pytest.mark.parametrize("is_valve", [True, False])
def test_no_coil_in_order_ices_in_the_mildest_hour(plate: Nameplate, is_valve: bool) -> None:
    mildest = air_of(MILDEST_OUTDOOR_C, MILDEST_INDOOR_C, 0.5)
    sound = running(replace(plate, is_valve=is_valve), mildest, np.array([row()]), heating=False)
    assert sound[0, COLUMN["surface_k"]] > FREEZES_K


@pytest.mark.parametrize("metering", ["txv", "orifice"])
def test_a_circuit_that_is_nearly_empty_has_no_cold_coil(metering: str) -> None:
    for charge, frosts in ((0.5, 1.0), (0.15, 0.0)):
        state = look(GAS, "cool", [to("cycle.charge", charge)], metering=metering)
        assert signal(state, "suction_line.frosted") == frosts
        assert signal(state, "coil.freezes") == frosts


@pytest.mark.published("maker-manual-cooling-table", "T4: R-410A, 2 to 5 tons, 80/67 and 95 degF")
@pytest.mark.parametrize("tons", [2.0, 3.0, 5.0])
def test_a_unit_in_order_has_makers_pressures(tons: float) -> None:
    air = Air(308.15, 299.817, 292.594)
    found = running(Nameplate(tons=tons), air, np.array([row()]), heating=False)[0]
    table = refrigerant_table("R-410A")
    suction = table.dew_pressure_pa(found[COLUMN["evaporating_k"]]) - 101325.0
    liquid = table.bubble_pressure_pa(found[COLUMN["condensing_k"]]) - 101325.0
    assert 145.0 <= suction / 6894.757 <= 152.0
    assert 362.0 <= liquid / 6894.757 <= 400.0


def test_frost_comes_in_the_mild_hours_and_trips_in_the_hot_ones() -> None:
    """Half the air does not freeze the coil at noon, but does by night."""
    half = [to("air.filter", 35.0)]
    noon = look(GAS, "cool", half, {"outdoor_c": 33.0, "indoor_c": 26.5})
    assert signal(noon, "suction_line.frosted") == 0.0
    assert signal(noon, "coil.freezes") == 1.0
    boxed = look(GAS, "cool", [to("cycle.outdoor_air", 0.24)], {"outdoor_c": 33.0})
    assert signal(boxed, "head.high") == 0.0
    assert signal(boxed, "head.trips") == 1.0


def test_clamp_reads_the_load_while_it_runs_and_the_rotor_while_it_stands() -> None:
    sound, fouled, stuck = (
        signal(look(GAS, "cool", e), "compressor.clamp_a")
        for e in ([], [to("cycle.outdoor_air", 0.4)], [to("compressor.seized", 1.0)])
    )
    assert 8.0 < sound < fouled < 20.0
    assert stuck > 50.0


def test_a_refrigerant_of_the_plate_changes_the_machine_not_the_coil() -> None:
    newer, older = (look(GAS, "cool", refrigerant=r) for r in ("r410a", "r22"))
    one, two = (signal(s, "cycle.evaporating_k") for s in (newer, older))
    assert one == pytest.approx(two, abs=2.0)


def test_degrees_of_one_are_the_worlds_as_settled() -> None:
    built = plant(HEAT_PUMP, [to("cycle.charge", 0.7), opened("lead.fan_c")])
    around = surroundings("cool", {})
    state = settle(built, built.set_up([("it",), ()]), around)
    motors = {n: state.signals[n] for n in MOTORS if n in state.signals}
    given = np.stack([state.signals[f"cycle.given.{n}"] for n in DEPARTURES], axis=1)
    found = departures_at(built, [("it",), ()], [{}, {}], motors, around)
    assert found == pytest.approx(given)
    far = departures_at(built, [("it",), ()], [{"it": 2.0}, {}], motors, around)
    assert far[0, 0] == pytest.approx(0.4)
    assert far[1] == pytest.approx(given[1])


@pytest.mark.parametrize(
    ("effect", "far", "column", "wanted"),
    [
        (to("cycle.charge", 1.4), 0.5, "charge", 1.2),
        (to("cycle.restriction", 2.0), 1.5, "restriction", 3.0),
        (to("reversing_valve.leaks", 0.2), 0.5, "reversing_leak", 0.1),
    ],
)
def test_an_effect_taken_as_far_as_told(
    effect: object, far: float, column: str, wanted: float
) -> None:
    built = plant(HEAT_PUMP, [effect])  # type: ignore[list-item]
    around = surroundings("cool", {})
    state = settle(built, built.set_up([("it",)]), around)
    motors = {n: state.signals[n] for n in MOTORS}
    found = departures_at(built, [("it",)], [{"it": far}], motors, around)
    assert found[0, DEPARTURES.index(column)] == pytest.approx(wanted)


def test_air_hotter_than_moist_air_tables_keeps_a_wet_bulb() -> None:
    """Hardly any air over a heat pump's hot coil leaves it above the boiling point."""
    hot = np.array([330.0, 376.0, 400.0])
    wet = warmed_wet_bulb_k(hot, np.array([305.0, 312.0, 315.0]), 40.0)
    assert np.all(np.isfinite(wet))
    assert np.all(wet < 373.15)


OUTDOOR_DEVICE = ("superheat_k", "subcooling_k", "evaporating_k", "discharge_k", "indoor_watts")


@pytest.mark.parametrize("metering", ["txv", "orifice"])
def test_an_outdoor_piston_missing_floods_and_a_blocked_one_starves(metering: str) -> None:
    """Both cost heat; superheat, the coil outdoors and the discharge go opposite ways."""
    sound, missing, blocked = (
        {n: signal(state, f"cycle.{n}") for n in OUTDOOR_DEVICE}
        for state in (
            look(HEAT_PUMP, "heat", [to("cycle.heating_metering", x)], metering=metering)
            for x in (1.0, 3.0, 0.3)
        )
    )
    assert missing["superheat_k"] == missing["subcooling_k"] == 0.0
    assert blocked["superheat_k"] > sound["superheat_k"] + 8.0
    for name, least in (("evaporating_k", 1.0), ("discharge_k", 4.0)):
        assert (missing[name] - sound[name]) * (1.0 if name == "evaporating_k" else -1.0) > least
        assert (blocked[name] - sound[name]) * (-1.0 if name == "evaporating_k" else 1.0) > least
    for faulty in (missing, blocked):
        assert faulty["indoor_watts"] < 0.85 * sound["indoor_watts"]


def test_the_outdoor_piston_changes_nothing_in_cooling() -> None:
    effects = [[], [to("cycle.heating_metering", 3.0)], [to("cycle.heating_metering", 0.3)]]
    assert len({signal(look(HEAT_PUMP, "cool", e), "cycle.discharge_k") for e in effects}) == 1
