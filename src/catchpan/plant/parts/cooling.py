"""What the refrigerant side delivers, from published regressions, until a full cycle is solved.

The door for a cycle model is ``RefrigerantCircuit.act``: it reads whether compressor and outdoor
fan turn, the airflows, the charge and the metering, and publishes the same signals.
"""

from collections.abc import Mapping
from typing import ClassVar

import numpy as np

from catchpan.physics.condensate import condensate_from_capacity_kg_s
from catchpan.plant.part import RUNNING, Array, Mask, Part, View

SENSIBLE_RATIO = 0.75
"""Sensible share of the total capacity at 50 % relative humidity (given, not solved)."""

FLOW_POWER = 0.82
"""Fall of coil temperature with airflow: dT ~ share / (flow x effectiveness), with NTU 1.5 at
rated flow and NTU ~ flow^-0.5. A 26 degC return then freezes the coil near 60 % of rated flow
(below 300 cfm/ton is common practice's limit)."""

STARVED_CHARGE_K = 50.0
"""Further fall per share of charge missing; a quarter missing brings frost (assumed)."""

EMPTY_SHARE = 0.08
"""Below this share of capacity there is too little refrigerant left to chill the coil (assumed)."""

DRIER_COLD_SHARE = 0.6
"""A drier or line that passes less than this is colder behind than before (assumed)."""

STARVED_METERING_K = 45.0
"""Further fall per share of refrigerant flow held back (assumed)."""


def charge_capacity_share(charge: Array, indoor_c: float, outdoor_c: float) -> Array:
    """Cooling capacity against the share of charge present (1 is correct).

    NIST TN 1848 regression as tabulated for ANSI/RESNET/ICC 301, valid for charge 0.7 to 1.3;
    below that the fall is continued in a straight line to nothing at 0.25 (assumed).
    """
    fault = np.clip(charge - 1.0, -0.3, 0.3)
    under = 1 + (-0.946 + 0.0493 * indoor_c - 0.00118 * outdoor_c - 1.15 * fault) * fault
    over = 1 + (-0.163 + 0.0114 * indoor_c - 0.00021 * outdoor_c - 0.14 * fault) * fault
    share = np.where(fault <= 0, under, over)
    return np.asarray(np.where(charge < 0.7, share * np.clip((charge - 0.25) / 0.45, 0, 1), share))


def airflow_capacity_share(flow_share: Array) -> Array:
    """Cooling capacity against the share of rated indoor airflow, valid 0.5 to 1.2.

    Quadratic of NREL/TP-5500-56354 as tabulated; below 0.5 continued to zero at no flow (assumed).
    """
    flow = np.clip(flow_share, 0.5, 1.2)
    share = 0.718664047 + 0.41797409 * flow - 0.136638137 * flow**2
    return np.asarray(share * np.clip(flow_share / 0.5, 0.0, 1.0) ** 0.5)


def heating_capacity_watts(outdoor_c: Array | float, rated_watts: float) -> Array:
    """Heat-pump capacity at an outdoor temperature, straight through the 47 and 17 degF points.

    From 29.0 and 18.2 MBtu/h of a maker's table for a nominal 2.5 ton unit.
    """
    slope = (1.0 - 18.2 / 29.0) / (8.33 + 8.33)
    return np.asarray(rated_watts * np.clip(1.0 + slope * (np.asarray(outdoor_c) - 8.33), 0.2, 1.3))


class RefrigerantCircuit(Part):
    """Charge, metering and outdoor heat exchange as shares of correct."""

    VALUES: ClassVar[Mapping[str, float]] = {
        "charge": 1.0,
        "line_share": 1.0,
        "outdoor_air": 1.0,
        "rated_watts": 10500.0,
        "heat_pump": 0.0,
        "heating_metering": 1.0,
    }

    def act(self, view: View) -> None:
        """Publish heat moved, coil temperature, pressures' tendencies and condensate."""
        runs = (view.signal("compressor.state") == RUNNING) & (view.value("compressor.pumps") > 0.3)
        outdoor_fan = view.signal("outdoor_fan.state") == RUNNING
        condenser = np.where(outdoor_fan, view.value("cycle.outdoor_air"), 0.08)
        cooling = np.ones(view.size, dtype=bool)
        if self.number("heat_pump") > 0.5:
            cooling = view.signal("reversing_valve.cooling") > 0.5
        share = self._share(view, cooling, condenser) * runs
        rated = self.number("rated_watts")
        warm = heating_capacity_watts(view.around.outdoor_c, rated)
        watts = np.where(cooling, -rated * share, warm * share)
        view.write(self.at("indoor_watts"), watts)
        view.write(self.at("capacity_share"), share)
        self._coil(view, runs & cooling, share)
        self._pressures(view, runs, condenser)

    def _share(self, view: View, cooling: Mask, condenser: Array) -> Array:
        charge = charge_capacity_share(
            view.value(self.at("charge")), view.around.indoor_c, view.around.outdoor_c
        )
        air = airflow_capacity_share(view.signal("air.flow_share"))
        metering = self._metering(view) * np.where(
            cooling, 1.0, view.value(self.at("heating_metering"))
        )
        rejected = np.clip(0.25 + 0.85 * condenser, 0.0, 1.0)
        leak = 1.0 - 0.7 * view.value("reversing_valve.leaks") if self._has_valve() else 1.0
        pumps = np.minimum(view.value("compressor.pumps"), 1.0)
        iced = np.where(cooling, view.value("coil.ice"), view.value("outdoor_coil.ice"))
        clear = 1.0 - 0.6 * iced
        return np.asarray(
            charge * air * np.minimum(metering, 1.0) * rejected * leak * pumps * clear
        )

    def _fed(self, view: View) -> Array:
        """Share of the refrigerant's own flow, whatever the air over the coil does."""
        charge = charge_capacity_share(
            view.value(self.at("charge")), view.around.indoor_c, view.around.outdoor_c
        )
        return np.asarray(charge * np.minimum(self._metering(view), 1.0))

    def _metering(self, view: View) -> Array:
        """Share of the flow that drier, line and metering device let through."""
        device = view.value_or("txv.open_share", 1.0) * view.value_or("orifice.open_share", 1.0)
        return np.asarray(view.value(self.at("line_share")) * device)

    def _has_valve(self) -> bool:
        return self.number("heat_pump") > 0.5

    def _coil(self, view: View, cooling: Mask, share: Array) -> None:
        """Coil temperature from the split between air and coil (35 degF at 400 cfm/ton)."""
        flow = np.maximum(view.signal("air.flow_share"), 0.12)
        split = 19.4 * np.maximum(share, 0.3) / flow**FLOW_POWER
        starved = STARVED_CHARGE_K * (1.0 - np.minimum(view.value(self.at("charge")), 1.0))
        starved += STARVED_METERING_K * (1.0 - np.minimum(self._metering(view), 1.0))
        coil = view.around.indoor_c - split - starved
        coil = np.where(view.value("coil.ice") > 0.5, np.minimum(coil, -2.0), coil)
        coil = np.where(self._fed(view) < EMPTY_SHARE, view.around.indoor_c, coil)
        view.write("coil.temperature_c", np.where(cooling, coil, view.around.indoor_c))
        view.write("coil.freezes", cooling & (coil < -1.0))
        thaw = view.value("coil.ice") < 0.5
        damp = float(np.clip((view.around.indoor_rh - 0.25) / 0.25, 0.0, 2.0))
        total = self.number("rated_watts") * np.clip(share, 0.0, 2.0)
        made = condensate_from_capacity_kg_s(total, SENSIBLE_RATIO) * damp
        view.write("condensate.kg_s", cooling * made * thaw)
        cold = cooling & (share > 0.15)
        full = (view.value(self.at("charge")) > 0.75) & (coil > -4.0) & (coil < 14.0)
        view.write("suction_line.cold", cold & full)
        view.write("suction_line.frosted", cooling & (coil < -1.0))

    def _pressures(self, view: View, runs: Mask, condenser: Array) -> None:
        """Tendencies that safety switches act on."""
        over = np.maximum(view.value(self.at("charge")) - 1.0, 0.0)
        high = runs & ((condenser < 0.3) | (over > 0.4))
        view.write("head.high", high)
        low = runs & (view.value(self.at("charge")) * self._metering(view) < 0.35)
        view.write("suction.low", low)
        choked = view.value(self.at("line_share")) < DRIER_COLD_SHARE
        view.write("drier.cold", runs & choked)


class MeteringDevice(Part):
    """Expansion valve or fixed orifice, as the share of its proper opening."""

    VALUES: ClassVar[Mapping[str, float]] = {"open_share": 1.0}


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
