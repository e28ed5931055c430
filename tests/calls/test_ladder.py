"""The wiring as a ladder."""

from collections.abc import Mapping

import pytest

from catchpan.calls.described import usual_setting
from catchpan.calls.ladder import Ladder, Line, ladders
from catchpan.catalog.load import catalog
from catchpan.catalog.system import options_of
from catchpan.cli.ladder import ladder_lines
from catchpan.diagnosis.worlds.description import Description
from catchpan.units.errors import UnknownName
from tests.calls.one_home import OPTIONS, SYSTEM


def drawn(
    wrong: tuple[str, ...] = (), demand: str = "cool", options: Mapping[str, str] = OPTIONS
) -> tuple[Ladder, ...]:
    return ladders(Description(SYSTEM, options), wrong, demand)


def line_of(found: Ladder, words: str) -> Line:
    return next(line for line in found.lines if words in line.words)


def test_there_is_a_control_and_a_line_circuit() -> None:
    control, line = drawn()
    assert (control.against, line.against) == ("to C", "to ground")
    assert control.lines[0].kind == line.lines[0].kind == "source"


def test_a_cooling_call_reaches_the_contactor_coil() -> None:
    control, line = drawn()
    assert line_of(control, "contactor coil").volts[0] > 20.0
    assert line_of(line, "compressor run winding").volts[0] == pytest.approx(240.0, rel=0.05)


def test_an_open_float_switch_in_r_blanks_all_that_follows() -> None:
    """Full pan > float switch in R opens > no 24 V at the thermostat (common practice)."""
    control, _ = drawn(("drain/trap-plugged", "water/primary-pan-full"))
    switch = line_of(control, "drain float switch")
    assert switch.position == ("closed", "open")
    assert switch.differs
    display = line_of(control, "thermostat display")
    assert display.volts[0] > 20.0
    assert display.volts[1] < 1.0


def test_a_broken_common_shows_on_the_way_back() -> None:
    control, _ = drawn(("low-voltage/outdoor-c-open",))
    back = line_of(control, "back: outdoor cable, C")
    assert back.position[1] == "open"
    assert back.volts[1] > 15.0


@pytest.mark.parametrize("system", sorted(catalog().archetypes))
def test_every_system_draws_its_loads_in_eighty_columns(system: str) -> None:
    setting = usual_setting(system, {}, catalog())
    demands = catalog().archetypes[system].demands
    for demand in demands:
        for found in ladders(Description(system, setting), (), demand):
            assert sum(line.kind == "load" for line in found.lines) >= 3
            assert all(len(text) <= 80 for text in ladder_lines(found, demand, "a fault"))


def test_every_setting_of_an_option_can_be_drawn() -> None:
    for name, option in options_of(SYSTEM, catalog()).items():
        for value in option.values:
            control, _ = drawn(options={**OPTIONS, name: value.id})
            assert line_of(control, "contactor coil").volts[0] > 20.0


def test_unknown_faults_and_demands_are_named() -> None:
    with pytest.raises(UnknownName, match="capacitor/fan-open"):
        drawn(("capacitor/fan-opn",))
    with pytest.raises(UnknownName, match="demand"):
        drawn(demand="emergency")
