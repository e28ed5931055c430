"""The air side: blower, filter, coil and ducts to one airflow, and what the registers feel."""

from collections.abc import Mapping
from typing import ClassVar

import numpy as np

from catchpan.physics.airflow_fan import Blower, constant_airflow_point, psc_point
from catchpan.plant.part import RUNNING, Array, Part, View

RATED_STATIC_PA = 150.0
"""Total pressure the blower makes at rated flow: 0.6 in. w.c. with filter and wet coil
(pressure budget, common practice, no source)."""

RATED_BLOWER_W = 400.0
"""Electric power of the blower at rated flow (assumed; it only scales the power it draws)."""

RATED_TON_M3_S = 0.1888
"""Rated air for each ton of cooling, 400 cfm (common practice)."""

TAP_POWER = 3.0
"""Power of the set speed that a motor with taps gives up in strength: its medium and low tap, at
0.295 and 0.124 (page on water and air), are then two thirds and a half of its highest (ours)."""

MOST_STRENGTH = 2.0
"""No tap gives a motor with a run capacitor more than this over its design (assumed)."""

ICED_FACTOR = 30.0
"""Resistance of an iced coil as a multiple of the clean one (assumed)."""


class AirPath(Part):
    """Return, filter, coil and supply in series with the blower.

    Resistances are multiples of the clean ones; shares of the clean system's pressure drop are
    filter 0.17, coil 0.42, return 0.20, supply 0.21 (pressure budget, common practice). A weak run
    capacitor slows a blower of its kind, if little: at 65 % of its capacitance by 4 % of the air.
    """

    VALUES: ClassVar[Mapping[str, float]] = {
        "filter": 1.0,
        "second_filter": 0.0,
        "coil": 1.0,
        "return_duct": 1.0,
        "supply_duct": 1.0,
        "wheel_share": 1.0,
        "speed_share": 1.0,
        "lost_share": 0.0,
        "constant_flow": 0.0,
        "rated_m3_s": 0.566,
    }

    def act(self, view: View) -> None:
        """Solve the blower's curve against the system's for the flow."""
        running = view.signal("blower.state") == RUNNING
        share = np.where(running, self._blown_share(view), 0.0)
        view.write(self.at("flow_share"), share)
        view.write(self.at("register_share"), share * (1.0 - view.value(self.at("lost_share"))))
        view.write(self.at("static_pa"), self._external(view) * share**2 * RATED_STATIC_PA)
        before = 0.17 * self._filters(view) * share**2 * RATED_STATIC_PA
        view.write(self.at("filter_drop_pa"), before)
        held_back = 0.20 * view.value(self.at("return_duct")) * share**2 * RATED_STATIC_PA
        view.write(self.at("return_pa"), before + held_back)
        forward = 0.21 * view.value(self.at("supply_duct")) * share**2 * RATED_STATIC_PA
        view.write(self.at("supply_pa"), forward)
        drag = 0.42 * self._coil(view) * share**2 * RATED_STATIC_PA
        view.write(self.at("coil_drop_pa"), drag)
        view.write(self.at("suction_pa"), before + held_back + drag)
        self._show(view)

    def _blown_share(self, view: View) -> Array:
        """Share of the rated flow at which blower and path agree."""
        rated, wheel = self.number("rated_m3_s"), view.value(self.at("wheel_share"))
        blower = Blower(rated * wheel, RATED_STATIC_PA * wheel**2, RATED_BLOWER_W * wheel**3)
        path = self._resistance(view) * RATED_STATIC_PA / rated**2
        speed = view.value(self.at("speed_share"))
        if self.number("constant_flow") > 0.5:
            point = constant_airflow_point(blower, path, flow_m3_s=rated * speed)
        else:
            pull = view.signal("blower.torque_share", 1.0)
            strength = np.minimum(pull * speed**TAP_POWER, MOST_STRENGTH)
            point = psc_point(blower, path, strength=strength)
        return point.flow_m3_s / rated

    def _show(self, view: View) -> None:
        """Publish what an eye finds at filter, coil, wheel and ducts."""
        for look in (
            "filter",
            "second_filter",
            "coil",
            "wheel_share",
            "return_duct",
            "supply_duct",
            "lost_share",
        ):
            view.write(self.at(f"{look}_look"), view.value(self.at(look)))

    def _filters(self, view: View) -> Array:
        return np.asarray(view.value(self.at("filter")) + view.value(self.at("second_filter")))

    def _coil(self, view: View) -> Array:
        iced = 1.0 + ICED_FACTOR * view.value("coil.ice")
        return np.asarray(view.value(self.at("coil")) * iced)

    def _resistance(self, view: View) -> Array:
        return self._external(view) + 0.42 * self._coil(view)

    def _external(self, view: View) -> Array:
        return (
            0.17 * self._filters(view)
            + 0.20 * view.value(self.at("return_duct"))
            + 0.21 * view.value(self.at("supply_duct"))
        )


class IndoorCoil(Part):
    """The indoor coil's ice (share of its face blocked)."""

    VALUES: ClassVar[Mapping[str, float]] = {"ice": 0.0}

    def act(self, view: View) -> None:
        """Publish whether ice melts: the coil is iced and the compressor rests."""
        rests = view.signal("compressor.state") < RUNNING
        view.write("coil.ice_share", view.value(self.at("ice")))
        view.write("coil.thaws", (view.value(self.at("ice")) > 0.5) & rests)


class Room(Part):
    """What the rooms get: supply temperature against the room's, and whether it is enough.

    A call comes when less than ``needed_share`` of the rated capacity arrives (assumed), or so much
    of it that the unit cools in bursts and leaves the air damp. What a hand at a register feels is
    published in steps: 0 no air, 1 cold, 2 a little cool, 3 as the room, 4 warm (steps at -6, -2
    and +3 K, assumed).
    """

    VALUES: ClassVar[Mapping[str, float]] = {
        "needed_share": 0.72,
        "rated_cool_watts": 10500.0,
        "rated_heat_watts": 16000.0,
    }
    DAMP_SHARE: ClassVar[float] = 1.4
    """Above this share of what a hot day asks for, cooling runs in bursts too short to keep the air
    dry (assumed)."""

    def act(self, view: View) -> None:
        """Balance heat over the airflow."""
        flow = np.maximum(view.signal("air.flow_share"), 0.03) * view.value("air.rated_m3_s")
        watts = (
            view.signal("cycle.indoor_watts")
            + view.signal("strip1.watts")
            + view.signal("strip2.watts")
            + view.signal("burner.watts")
        )
        moving = view.signal("air.flow_share") > 0.03
        cycle = view.signal("cycle.indoor_watts")
        dry = watts - cycle + view.signal("cycle.sensible_watts")
        rise = np.where(moving, dry / (1200.0 * flow), 0.0)
        view.write("supply.rise_k", rise)
        added = (watts - cycle) * moving
        view.write("supply.added_k", added / (1200.0 * flow))
        by_rise = view.signal("air.flow_share") * RATED_TON_M3_S
        view.write("supply.ton_flow_m3_s", np.where(added > 0.0, by_rise, 0.0))
        arriving = watts * moving * (1.0 - view.value("air.lost_share"))
        needed = view.value(self.at("rated_heat_watts"))
        cools = view.calls_for("cool")
        if cools:
            arriving, needed = -arriving, view.value(self.at("rated_cool_watts"))
        elif view.calls_for("emergency"):
            needed = 0.5 * needed
        view.write(self.at("share"), arriving / needed)
        view.write(self.at("short"), arriving / needed < self.number("needed_share"))
        view.write(self.at("clammy"), cools & (arriving / needed > self.DAMP_SHARE))
        view.write("room.runs_on", moving & (view.signal("room.short") > 0.5))
        feel = np.select([rise < -6.0, rise < -2.0, rise < 3.0], [1.0, 2.0, 3.0], 4.0)
        view.write("supply.feel", np.where(moving, feel, 0.0))
        view.write("furnace.plenum_rise_k", watts / (1200.0 * flow) * (watts > 0.0))
