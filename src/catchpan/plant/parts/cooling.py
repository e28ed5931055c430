"""The refrigerant side: what the circuit is given, and what it then delivers and reads."""

from collections.abc import Mapping
from dataclasses import replace
from typing import ClassVar, Final

import numpy as np

from catchpan.physics.cycle.limits import CUT_OUT_DEW_K, TRIP_BUBBLE_K
from catchpan.plant.part import RUNNING, Array, Mask, Part, Surroundings, View
from catchpan.plant.refrigeration import (
    COLUMN,
    DEPARTURES,
    HEALTHY,
    READINGS,
    Air,
    Nameplate,
    air_of,
    memory,
    standing,
)

PUMPS: Final = 0.05
"""Least share of its flow with which a compressor is worth calling one that pumps."""

TRIPPING_DUTY: Final = 0.4
"""Share of the time a unit runs that goes off on pressure and comes back (assumed)."""

STILL_AIR: Final = 0.08
"""Share of its air that an outdoor coil draws with its fan standing (assumed)."""

ICED_AIR: Final = 0.8
ICED_CONDUCTANCE: Final = 0.7
"""Shares of air and conductance that a block of ice takes from a coil (assumed)."""

FREEZES_K: Final = 278.15
"""Mean surface temperature, where refrigerant boils, below which some of the indoor coil frosts.

The trade's limit is 32 degF saturated suction at the gauge (common practice, no source). At that
gauge the model's coil boils 1 K warmer, for the suction line, its surface is 1 to 3 K warmer still,
and neither refrigerant nor air reaches all of a coil alike (2 K assumed). It is the surface that is
judged, not the boiling temperature: it follows from the air's heat, not from the tubes."""

MILD_OUTDOOR_K, MILD_INDOOR_K = 10.0, 4.0
HOT_OUTDOOR_K, HOT_INDOOR_K = 6.0, 3.0
"""How far the mildest hours of a day lie below the visit's weather and the hottest above it: towns
differ by 9 to 12 K between a summer day's coolest and warmest hour ([ashrae-fundamentals-2017]
ch. 14, from memory), and by night a unit catches up with its thermostat; the room is warm in the
hottest besides, for a unit near its trip does not keep up (assumed). What takes hours, frost or a
trip on pressure, is judged there."""

MILDEST_OUTDOOR_C, MILDEST_INDOOR_C = 18.0, 21.0
HOTTEST_OUTDOOR_C, HOTTEST_INDOOR_C = 51.0, 32.0
"""A mild hour is no colder than this, unless the visit is, and a hot one no hotter."""

LINE_COLD_K: Final = 8.0
"""A suction line this much colder than the return air feels cold and sweats (assumed)."""

RUNS, COOLS = "runs", "cools"
"""What a circuit is given beside departures: it pumps, and the indoor coil is the cold one."""

Found = Mapping[str, Array]
"""Readings by name, a row for each world."""

LINES: Final = (
    "evaporating_k",
    "condensing_k",
    "suction_line_k",
    "liquid_line_k",
    "discharge_k",
    "liquid_drop_k",
    "indoor_leaving_k",
    "indoor_leaving_wet_bulb_k",
    "outdoor_leaving_k",
)
"""Readings published as they are: saturation temperatures at the gauges, lines, air."""


class RefrigerantCircuit(Part):
    """The circuit with its charge, coils and lines; ``refrigerant`` and sizes as on the plate."""

    NAMES: ClassVar[Mapping[str, str]] = {"refrigerant": "R-410A"}
    VALUES: ClassVar[Mapping[str, float]] = {
        "charge": 1.0,
        "outdoor_air": 1.0,
        "outdoor_conductance": 1.0,
        "restriction": 0.0,
        "foreign_gas": 0.0,
        "heating_metering": 1.0,
        "other_refrigerant": 0.0,
        "heat_pump": 0.0,
        "tons": 3.0,
        "seer": 14.0,
        "valve": 1.0,
        "charge_kg": 0.0,
        "line_m": 7.62,
    }

    @property
    def plate(self) -> Nameplate:
        """What the plate says, and how the indoor coil is fed."""
        return Nameplate(
            refrigerant=self.word("refrigerant"),
            tons=self.number("tons"),
            seer=self.number("seer"),
            is_valve=self.number("valve") > 0.5,
            heat_pump=self.number("heat_pump") > 0.5,
            charge_kg=self.number("charge_kg"),
            line_m=self.number("line_m"),
        )

    def act(self, view: View) -> None:
        """Solve the circuits that run and publish what they deliver and read."""
        runs, cooling = self.runs(view), self.cools(view)
        rows = self.departures(view, cooling)
        calm = self._calm(view, np.column_stack([rows, runs, cooling]))
        runs &= calm
        found = self._solved(rows, view.around, (runs & cooling, runs & ~cooling))
        view.write(self.at("charge_share"), view.value(self.at("charge")) / self.number("charge"))
        view.write(self.at("given.other_refrigerant"), view.value(self.at("other_refrigerant")))
        self._deliver(view, found, runs, cooling)
        self._gauges(view, found, runs, cooling)
        self._day(view, rows, runs & cooling)

    def _calm(self, view: View, given: Array) -> Mask:
        """Publish what the circuit is given; tell where it is what it was given the pass before.

        Only there is it worth solving: while motors come up one after the other it changes.
        """
        names = [self.at(f"given.{name}") for name in (*DEPARTURES, RUNS, COOLS)]
        before = np.column_stack([view.signal(name, np.nan) for name in names])
        for name, values in zip(names, given.T, strict=True):
            view.write(name, values)
        return np.asarray((before == given).all(axis=1))

    def runs(self, view: View) -> Mask:
        """Whether the compressor turns and pumps."""
        pumps = view.value("compressor.pumps") >= PUMPS
        return np.asarray((view.signal("compressor.state") == RUNNING) & pumps)

    def cools(self, view: View) -> Mask:
        """Whether the indoor coil is the cold one."""
        if self.number("heat_pump") > 0.5:
            return np.asarray(view.signal("reversing_valve.cooling") > 0.5)
        return np.ones(view.size, dtype=bool)

    def departures(self, view: View, cooling: Mask) -> Array:
        """Return how each world's circuit departs from order, shape (B, departures).

        An outdoor device with too large a hole cannot throttle: it stands wide open.
        """
        fan = view.signal("outdoor_fan.state") == RUNNING
        frost, ice = view.value_or("outdoor_coil.ice", 0.0), view.value("coil.ice")
        device = view.value_or("txv.area", 1.0) * view.value_or("orifice.area", 1.0)
        stuck = view.value_or("txv.stuck", 0.0)
        outside = view.value(self.at("heating_metering"))
        outdoor = view.value(self.at("outdoor_air")) * (1.0 - ICED_AIR * frost)
        clear = 1.0 - ICED_CONDUCTANCE * frost
        columns = {
            "charge": view.value(self.at("charge")),
            "indoor_air": view.signal("air.flow_share"),
            "outdoor_air": np.where(fan, outdoor, STILL_AIR),
            "indoor_conductance": 1.0 - ICED_CONDUCTANCE * ice,
            "outdoor_conductance": view.value(self.at("outdoor_conductance")) * clear,
            "restriction": view.value(self.at("restriction")),
            "metering_area": np.where(cooling, device, outside),
            "stuck_opening": np.where(cooling, stuck, outside > 1.0),
            "foreign_gas": view.value(self.at("foreign_gas")),
            "compressor": np.minimum(view.value("compressor.pumps"), 1.0),
            "reversing_leak": view.value_or("reversing_valve.leaks", 0.0),
        }
        return np.stack(list(columns.values()), axis=1)

    def _solved(self, rows: Array, around: Surroundings, modes: tuple[Mask, Mask]) -> Found:
        """Return every reading in each world: of its mode where it runs, else at rest."""
        air = _air(around)
        table = standing(air, len(rows))
        for heating, mask in enumerate(modes):
            if mask.any() and (self.plate.heat_pump or not heating):
                table[mask] = memory(self.plate, air, heating=bool(heating)).read(rows[mask])
        return {name: table[:, COLUMN[name]] for name in READINGS}

    def _deliver(self, view: View, found: Found, runs: Mask, cooling: Mask) -> None:
        """Publish heat, water, and what comes off the outdoor unit."""
        tripping = found["condensing_k"] > TRIP_BUBBLE_K
        sign = np.where(cooling, -1.0, 1.0) * runs * np.where(tripping, TRIPPING_DUTY, 1.0)
        view.write(self.at("indoor_watts"), sign * found["net_w"])
        view.write(self.at("sensible_watts"), sign * found["sensible_w"])
        usual = np.where(cooling, self._usual_w(view, heating=False), 1.0)
        if self.plate.heat_pump:
            usual = np.where(cooling, usual, self._usual_w(view, heating=True))
        view.write(self.at("capacity_share"), np.abs(sign) * found["net_w"] / usual)
        thawed = view.value("coil.ice") < 0.5
        view.write("condensate.kg_s", found["condensate_kg_s"] * (runs & cooling & thawed))
        fan = view.signal("outdoor_fan.state") == RUNNING
        rise = found["outdoor_leaving_k"] - (view.around.outdoor_c + 273.15)
        view.write("outdoor_air.rise_k", np.where(runs & fan, rise, 0.0))
        turns = view.signal("compressor.state") == RUNNING
        amps = np.where(turns & runs, found["compressor_a"], view.signal("compressor.amps"))
        view.write("compressor.clamp_a", amps)

    def _usual_w(self, view: View, *, heating: bool) -> float:
        """Return what the circuit delivers in order, in this weather [W], above 0."""
        known = memory(self.plate, _air(view.around), heating=heating)
        return max(float(known.read(np.array([HEALTHY]))[0, COLUMN["net_w"]]), 1.0)

    def _gauges(self, view: View, found: Found, runs: Mask, cooling: Mask) -> None:
        """Publish what gauges, clamps and hands find at lines and coil."""
        for name in LINES:
            view.write(self.at(name), found[name])
        warm = found["suction_line_k"] - found["evaporating_k"]
        view.write(self.at("superheat_k"), warm * runs)
        cold = found["condensing_k"] - found["liquid_line_k"]
        view.write(self.at("subcooling_k"), cold * runs)
        boiling = found["evaporating_k"] - 273.15
        room = view.around.indoor_c
        chilled = runs & cooling
        view.write("coil.temperature_c", np.where(chilled, boiling, room))
        frosted = chilled & (found["surface_k"] < FREEZES_K)
        view.write("suction_line.frosted", frosted)
        line = found["suction_line_k"] - 273.15
        view.write("suction_line.cold", chilled & ~frosted & (line < room - LINE_COLD_K))
        view.write("head.high", runs & (found["condensing_k"] > TRIP_BUBBLE_K))
        lowest = np.where(cooling, CUT_OUT_DEW_K[False], CUT_OUT_DEW_K[True])
        view.write("suction.low", runs & (found["evaporating_k"] < lowest))

    def _day(self, view: View, rows: Array, chilled: Mask) -> None:
        """Publish what takes hours: frost in the mildest of the day, a trip in the hottest."""
        frosts, trips = np.zeros((2, view.size), dtype=bool)
        if chilled.any():
            mild, hot = (self._cooling_at(a, rows[chilled]) for a in _day_of(view.around))
            frosts[chilled] = mild[:, COLUMN["surface_k"]] < FREEZES_K
            trips[chilled] = hot[:, COLUMN["condensing_k"]] > TRIP_BUBBLE_K
        view.write("coil.freezes", frosts)
        view.write("head.trips", trips)

    def _cooling_at(self, around: Surroundings, rows: Array) -> Array:
        return memory(self.plate, _air(around), heating=False).read(rows)


def _air(around: Surroundings) -> Air:
    return air_of(around.outdoor_c, around.indoor_c, around.indoor_rh)


def _day_of(around: Surroundings) -> tuple[Surroundings, Surroundings]:
    """Return the mildest and the hottest hour of the day round a visit."""
    out, room = around.outdoor_c, around.indoor_c
    mild_out = min(out, max(out - MILD_OUTDOOR_K, MILDEST_OUTDOOR_C))
    mild_room = min(room, max(room - MILD_INDOOR_K, MILDEST_INDOOR_C))
    mild = replace(around, outdoor_c=mild_out, indoor_c=mild_room)
    hot_out = max(out, min(out + HOT_OUTDOOR_K, HOTTEST_OUTDOOR_C))
    hot_room = max(room, min(room + HOT_INDOOR_K, HOTTEST_INDOOR_C))
    return mild, replace(around, outdoor_c=hot_out, indoor_c=hot_room)


class MeteringDevice(Part):
    """Expansion valve or fixed orifice: share of its proper area, and where a valve is stuck."""

    VALUES: ClassVar[Mapping[str, float]] = {"area": 1.0, "stuck": 0.0}


class OutdoorCoil(Part):
    """Frost and ice on the outdoor coil of a heat pump."""

    VALUES: ClassVar[Mapping[str, float]] = {"ice": 0.0}

    def act(self, view: View) -> None:
        """Publish how freely air passes, and whether frost builds up faster than it is cleared."""
        view.write("outdoor_coil.open_share", view.value("cycle.outdoor_air"))
        view.write("outdoor_coil.ice_share", view.value(self.at("ice")))
        cold = view.around.outdoor_c < 7.0
        heating = (view.signal("compressor.state") == RUNNING) & cold
        if view.calls_for("heat") and "defrost.never_defrosts" in view.values:
            never = view.value("defrost.never_defrosts") > 0.5
            fanless = view.signal("outdoor_fan.state") < RUNNING
            view.write("outdoor_coil.builds_ice", heating & (never | fanless))
        else:
            view.write("outdoor_coil.builds_ice", 0.0)
