"""A residential unit as the cycle sees it, the weather of the moment, and what may be wrong."""

from dataclasses import dataclass, field, fields
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from catchpan.physics.cycle.circuit import LineSet, Parts, Start
from catchpan.physics.cycle.coil import Coil
from catchpan.physics.cycle.compressor import Compressor
from catchpan.physics.cycle.metering import Metering
from catchpan.physics.moist_air import STANDARD_PRESSURE_PA
from catchpan.physics.refrigerant.table import RefrigerantTable
from catchpan.units.errors import BadValue
from catchpan.units.span import FloatArray, within

STANDARD_AIR_KG_M3: Final = 1.2
"""Density of standard air, to which rated air flows refer [kg/m3]."""


@dataclass(frozen=True)
class Unit:
    """A split air conditioner or heat pump.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    compressor : Compressor
        As it behaves in cooling.
    indoor, outdoor : Coil
        The coils.
    metering : Metering
        The device at the indoor coil.
    lines : LineSet
        The line set.
    charge_kg : float
        The right charge, lines included [kg].
    indoor_fan_w, outdoor_fan_w : float
        Fan powers at rated air flow [W].
    rated_refrigerant_kg_s, rated_difference_pa : float
        Refrigerant flow and pressure difference at the rating point, to which a restriction refers.
    heating_compressor : Compressor or None
        As it behaves in heating; None for an air conditioner.
    heating_metering : Metering or None
        The device at the outdoor coil; None for an air conditioner.
    accumulator_m3 : float
        Volume of the suction accumulator [m3]; 0 for none.
    starts : tuple of Start or None
        Where the search for a steady state begins, cooling and heating; see
        `catchpan.physics.cycle.solve.prepared`.
    rated_voltage_v, power_factor : float
        Supply [V] and power factor of the compressor (0.95, with run capacitor; assumed).
    """

    table: RefrigerantTable = field(repr=False)
    compressor: Compressor
    indoor: Coil
    outdoor: Coil
    metering: Metering
    lines: LineSet
    charge_kg: float
    indoor_fan_w: float
    outdoor_fan_w: float
    rated_refrigerant_kg_s: float
    rated_difference_pa: float
    heating_compressor: Compressor | None = None
    heating_metering: Metering | None = None
    accumulator_m3: float = 0.0
    rated_voltage_v: float = 230.0
    power_factor: float = 0.95
    starts: tuple[Start | None, Start | None] = field(
        default=(None, None), repr=False, compare=False
    )

    def parts(self, *, heating: bool) -> Parts:
        """Return the circuit of one mode.

        Parameters
        ----------
        heating : bool
            Which mode.

        Returns
        -------
        Parts
            Coils and metering device in their roles.

        Raises
        ------
        BadValue
            If an air conditioner is asked to heat.
        """
        if not heating:
            coils, compressor, metering = (
                (self.indoor, self.outdoor),
                self.compressor,
                self.metering,
            )
        elif self.heating_compressor is None or self.heating_metering is None:
            raise BadValue("mode", "this unit is an air conditioner", "a heat pump to heat with")
        else:
            coils = (self.outdoor, self.indoor)
            compressor, metering = self.heating_compressor, self.heating_metering
        return Parts(
            self.table,
            compressor,
            *coils,
            metering,
            self.lines,
            suction_line=not heating,
            accumulator_m3=self.accumulator_m3,
            start=self.starts[int(heating)],
        )


@dataclass(frozen=True)
class Weather:
    """The air round the unit; numbers or arrays that broadcast.

    Parameters
    ----------
    indoor_k, indoor_wet_bulb_k : array_like
        Return air [K].
    outdoor_k : array_like
        Outdoor air [K].
    outdoor_wet_bulb_k : array_like or None
        Outdoor wet bulb [K]; None for 80 % relative humidity (assumed; matters only in heating).
    barometer_pa : array_like
        Barometric pressure [Pa].
    voltage_v : array_like or None
        Supply voltage [V]; None for the rated one.
    """

    indoor_k: ArrayLike
    indoor_wet_bulb_k: ArrayLike
    outdoor_k: ArrayLike
    outdoor_wet_bulb_k: ArrayLike | None = None
    barometer_pa: ArrayLike = STANDARD_PRESSURE_PA
    voltage_v: ArrayLike | None = None


@dataclass(frozen=True)
class Departures:
    """How a unit differs from one in order; numbers or arrays that broadcast.

    Parameters
    ----------
    charge : array_like
        Charge over the right charge, 0.3 to 2.
    indoor_air, outdoor_air : array_like
        Air flow over rated, 0.05 to 2.
    indoor_conductance, outdoor_conductance : array_like
        Air-side conductance of the coil over that when clean, 0.05 to 2.
    restriction : array_like
        Pressure drop of a liquid-line restriction at rated flow, over the rated difference between
        condenser and evaporator, 0 to 20.
    metering_area : array_like
        Area of the metering device over the right one, 0.02 to 5.
    stuck_opening : array_like
        Opening at which an expansion valve is stuck, 0.01 to 1; not a number while it moves.
    foreign_gas : array_like
        Non-condensable gas over what the circuit holds at one atmosphere, 0 to 3.
    compressor : array_like
        Share of the flow that the compressor's valves still deliver, 0.05 to 1.
    reversing_leak : array_like
        Share of the hot gas that slips through the reversing valve to the suction, 0 to 0.5.
    """

    charge: ArrayLike = 1.0
    indoor_air: ArrayLike = 1.0
    outdoor_air: ArrayLike = 1.0
    indoor_conductance: ArrayLike = 1.0
    outdoor_conductance: ArrayLike = 1.0
    restriction: ArrayLike = 0.0
    metering_area: ArrayLike = 1.0
    stuck_opening: ArrayLike = np.nan
    foreign_gas: ArrayLike = 0.0
    compressor: ArrayLike = 1.0
    reversing_leak: ArrayLike = 0.0

    def checked(self) -> dict[str, FloatArray]:
        """Return every field as an array, once it lies in its span.

        Raises
        ------
        OutOfRange
            With the first that does not.
        """
        found = {}
        for each in fields(self):
            value = np.asarray(getattr(self, each.name), dtype=np.float64)
            low, high = _SPANS[each.name]
            known = (
                np.where(np.isnan(value), high, value) if each.name == "stuck_opening" else value
            )
            within(each.name.replace("_", " "), known, low, high, "")
            found[each.name] = value
        return found


_SPANS: Final = {
    "charge": (0.3, 2.0),
    "indoor_air": (0.05, 2.0),
    "outdoor_air": (0.05, 2.0),
    "indoor_conductance": (0.05, 2.0),
    "outdoor_conductance": (0.05, 2.0),
    "restriction": (0.0, 20.0),
    "metering_area": (0.02, 5.0),
    "stuck_opening": (0.01, 1.0),
    "foreign_gas": (0.0, 3.0),
    "compressor": (0.05, 1.0),
    "reversing_leak": (0.0, 0.5),
}
