"""How long from a plug to a tripped switch or a wet ceiling, on whole systems."""

from functools import cache

import numpy as np
import pytest

from catchpan.catalog.system import build_plant
from catchpan.plant.part import Surroundings
from catchpan.plant.plant import Plant
from catchpan.plant.water_history import Pans, Run, condensate_m3_s, water_history

WARM = Surroundings("cool")
PLUGGED = ("drain/trap-plugged",)
GALLON_M3 = 3.785411784e-3


@cache
def system(float_switch: str, aux_pan: str) -> Plant:
    return build_plant(
        "heat-pump-air-handler",
        {
            "blower": "psc",
            "strips": "two",
            "thermostat_power": "c_wire",
            "float_switch": float_switch,
            "aux_pan": aux_pan,
            "drain": "gravity",
            "disconnect": "plain",
            "valve_call": "o",
            "metering": "txv",
        },
    )


@pytest.mark.published("facts-trade-1c", "0.1 to 0.47 gal/h and ton")
def test_a_three_ton_coil_makes_as_much_water_as_the_trade_says() -> None:
    made = condensate_m3_s(system("in_r", "none"), [()], WARM)[0]
    assert 0.1 < made * 3600.0 / GALLON_M3 / 3.0 < 0.47


def test_a_clear_drain_never_trips_or_overflows() -> None:
    history = water_history(system("in_r", "with_switch"), [()], WARM)
    assert np.isinf(history.hours_to("primary switch"))
    assert np.isinf(history.hours_to("auxiliary rim"))


def test_a_wired_switch_trips_before_the_pan_overflows() -> None:
    history = water_history(system("in_r", "none"), [PLUGGED], WARM)
    assert 0.5 < history.hours_to("primary switch")[0] < 12.0
    assert np.isinf(history.hours_to("primary rim")[0])


def test_a_switch_that_was_never_wired_lets_it_overflow() -> None:
    history = water_history(system("unwired", "none"), [PLUGGED], WARM)
    tripped, over = history.hours_to("primary switch")[0], history.hours_to("primary rim")[0]
    assert tripped < over < 24.0
    assert history.volume_m3["below"][0] > 0.0


def test_the_auxiliary_pan_fills_after_the_primary_and_its_switch_stops_the_water() -> None:
    history = water_history(system("none", "with_switch"), [PLUGGED], WARM)
    primary, switch = history.hours_to("primary rim")[0], history.hours_to("auxiliary switch")[0]
    assert primary < switch < 48.0
    assert np.isinf(history.hours_to("auxiliary rim")[0])


def test_an_auxiliary_pan_without_switch_or_drain_ends_on_the_ceiling() -> None:
    history = water_history(system("none", "plain"), [PLUGGED], WARM)
    assert history.hours_to("primary rim")[0] < history.hours_to("auxiliary rim")[0] < 72.0


def test_half_the_running_time_takes_twice_as_long() -> None:
    busy = water_history(system("in_r", "none"), [PLUGGED], WARM, run=Run(duty=0.8))
    idle = water_history(system("in_r", "none"), [PLUGGED], WARM, run=Run(duty=0.4))
    ratio = idle.hours_to("primary switch")[0] / busy.hours_to("primary switch")[0]
    assert ratio == pytest.approx(2.0)


@pytest.mark.published("facts-trade-1e", "51 x 25 x 1.5 in pan: 8.3 gal, 8.3 h at 1 gal/h")
def test_a_large_auxiliary_pan_takes_its_volume_over_the_flow() -> None:
    inch = 0.0254
    pans = Pans(auxiliary_area_m2=51.0 * 25.0 * inch**2, auxiliary_depth_m=1.5 * inch)
    plant = system("none", "plain")
    history = water_history(plant, [PLUGGED], WARM, run=Run(duty=1.0), pans=pans)
    filling = history.hours_to("auxiliary rim")[0] - history.hours_to("primary rim")[0]
    flow = condensate_m3_s(plant, [PLUGGED], WARM)[0] * 3600.0 / GALLON_M3
    assert filling * flow == pytest.approx(8.28, abs=0.03)
