"""A plant from its blueprint: joining terminals, conditions and what they change."""

import numpy as np
import pytest

from catchpan.catalog.lint import settings_of
from catchpan.catalog.load import catalog
from catchpan.catalog.system import build_plant
from catchpan.physics.conductors import copper_resistance_ohm
from catchpan.plant.blueprint import (
    Blueprint,
    BranchEffect,
    Effect,
    PartSpec,
    ShortEffect,
    ValueEffect,
    WireSpec,
)
from catchpan.plant.errors import UnknownPart
from catchpan.plant.meter import current, resistance_of, voltage
from catchpan.plant.part import Surroundings
from catchpan.plant.plant import Plant
from catchpan.plant.settle import settle

LAMP = Blueprint(
    "lamp",
    (
        PartSpec("service", "service", "panel"),
        PartSpec("breaker", "breaker", "panel", {"poles": 1, "rating_a": 10}),
        PartSpec("lamp", "heat_element", "room", {"kilowatt": 1.0, "rated_volts": 120.0}),
    ),
    (
        WireSpec("service.L1", "breaker.in1"),
        WireSpec("breaker.out1", "lamp.a", "wire", awg=14, length_m=20.0),
        WireSpec("lamp.b", "ground"),
    ),
)
"""A heater of 1 kW on one breaker: the smallest system there is."""

EFFECTS: dict[str, tuple[Effect, ...]] = {
    "wire-open": (BranchEffect("wire", "open"),),
    "wire-worn": (BranchEffect("wire", "ohm", 3.0),),
    "wire-double": (BranchEffect("wire", "factor", 2.0),),
    "breaker-off": (ValueEffect("breaker.on", "to", 0.0),),
    "breaker-welded": (BranchEffect("breaker.pole1", "stuck_closed"),),
    "shorted": (ShortEffect("lamp.a", "lamp.b", 0.1),),
    "fewer-volts": (ValueEffect("breaker.on", "times", 0.9),),
    "more": (ValueEffect("breaker.on", "add", -1.0),),
    "elsewhere": (BranchEffect("boiler.pump", "open"),),
    "no-value": (ValueEffect("boiler.on", "to", 0.0),),
    "no-terminal": (ShortEffect("lamp.a", "boiler.a", 0.1),),
}


def amps(*worlds: tuple[str, ...]) -> list[float]:
    """Current of the heater in each world."""
    built = Plant(LAMP, EFFECTS)
    state = settle(built, built.set_up(worlds), Surroundings("off"))
    return [float(a) for a in current(state, "lamp.wire")]


def test_heater_draws_what_its_rating_says() -> None:
    """120 V over 14.4 ohm, 0.04 ohm of service, 0.166 ohm of wire: 8.21 A."""
    ohm = 14.4 + 0.04 + float(copper_resistance_ohm(14, 20.0)) + 3 * 0.002
    assert amps(())[0] == pytest.approx(120.0 / ohm, rel=1e-6)


def test_each_effect_does_what_it_says() -> None:
    found = amps(("wire-open",), ("wire-worn",), ("breaker-off",), ("shorted",), ("more",))
    assert found[0] < 1e-5
    assert found[1] == pytest.approx(120.0 / (14.4 + 0.04 + 3.0 + 0.006), rel=1e-5)
    assert found[2] < 1e-5
    assert found[3] < 5.0
    assert found[4] < 1e-5


def test_factor_multiplies_the_resistance() -> None:
    built = Plant(LAMP, EFFECTS)
    state = settle(built, built.set_up([(), ("wire-double",)]), Surroundings("off"))
    one, two = resistance_of(state, "wire")
    assert two == pytest.approx(2.0 * one)


def test_welded_contact_holds_whatever_the_part_decides() -> None:
    assert amps(("breaker-off", "breaker-welded"))[0] > 8.0


def test_conditions_that_touch_what_is_not_there_are_left_out() -> None:
    built = Plant(LAMP, EFFECTS)
    assert set(EFFECTS) - set(built.conditions) == {"elsewhere", "no-value", "no-terminal"}


def test_unknown_condition_is_refused() -> None:
    built = Plant(LAMP, EFFECTS)
    with pytest.raises(UnknownPart, match="elsewhere"):
        built.set_up([("elsewhere",)])


def test_unknown_part_type_is_refused() -> None:
    with pytest.raises(UnknownPart, match="boiler"):
        Plant(Blueprint("x", (PartSpec("b", "boiler", "room"),), ()), {})


def test_worlds_of_a_batch_do_not_touch_each_other() -> None:
    alone = [amps((c,))[0] for c in ("wire-open", "wire-worn", "shorted")]
    assert amps(("wire-open",), ("wire-worn",), ("shorted",)) == alone


def test_wires_without_a_name_join_their_terminals() -> None:
    built = Plant(LAMP, {})
    assert built.join["service.L1"] == built.join["breaker.in1"]
    assert built.join["lamp.b"] == "ground"
    assert built.join["breaker.out1"] != built.join["lamp.a"]
    state = settle(built, built.set_up([()]), Surroundings("off"))
    assert voltage(state, "service.L1", "breaker.in1")[0] == 0.0


@pytest.mark.parametrize("other", ["wire-worn", "wire-double"])
def test_open_wire_stays_open_whatever_else_is_wrong_with_it(other: str) -> None:
    assert amps(("wire-open", other))[0] < 1e-5


def test_values_are_set_then_multiplied_then_added_to() -> None:
    built = Plant(LAMP, EFFECTS)
    setup = built.set_up([("more", "fewer-volts"), ("fewer-volts", "breaker-off", "more")])
    assert setup.values["breaker.on"].tolist() == pytest.approx([-0.1, -1.0])


def test_order_of_conditions_in_a_world_does_not_matter() -> None:
    built = Plant(LAMP, EFFECTS)
    one, other = (
        settle(built, built.set_up([w]), Surroundings("off")).solution.volts
        for w in (("shorted", "wire-worn"), ("wire-worn", "shorted"))
    )
    assert np.array_equal(one, other)


def test_vocabulary_of_a_plant() -> None:
    built = Plant(LAMP, EFFECTS)
    assert {"lamp.a", "breaker.out1", "ground"} <= built.terminals()
    assert {"wire", "lamp.wire", "breaker.pole1"} <= set(built.column)
    assert built.defaults["breaker.rating_a"] == 10.0


@pytest.mark.parametrize("name", sorted(catalog().archetypes))
def test_every_condition_of_the_catalog_settles_to_finite_figures(name: str) -> None:
    """Each alone, under each demand: no world yields a figure that is not one."""
    data = catalog()
    built = build_plant(name, next(settings_of(name, data)), data)
    setup = built.set_up([(), *((c,) for c in built.conditions)])
    for demand in data.archetypes[name].demands:
        state = settle(built, setup, Surroundings(demand))
        assert np.isfinite(state.solution.volts).all()
        assert [s for s, figure in state.signals.items() if not np.isfinite(figure).all()] == []


@pytest.mark.parametrize("name", sorted(catalog().archetypes))
def test_only_bad_supplies_and_shorts_chatter(name: str) -> None:
    """In cooling, of all single conditions: control shorts, weak transformers, low line voltage."""
    data = catalog()
    built = build_plant(name, next(settings_of(name, data)), data)
    state = settle(built, built.set_up([(c,) for c in built.conditions]), Surroundings("cool"))
    restless = {c.split("/")[0] for c, m in zip(built.conditions, state.chatters, strict=True) if m}
    assert restless <= {"low-voltage", "line-power", "contactor", "relay"}
