"""A refrigerant circuit in one mode: fixed parts, and what may differ from point to point."""

from dataclasses import dataclass, field, fields
from typing import Any, Final, Self

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.cycle.coil import AirStream, Coil
from catchpan.physics.cycle.compressor import Compressor
from catchpan.physics.cycle.metering import Metering
from catchpan.physics.elementwise import log
from catchpan.physics.refrigerant.table import RefrigerantTable
from catchpan.units.span import FloatArray

FRICTION: Final = 0.02
"""Friction factor of smooth lines (assumed)."""


@dataclass(frozen=True)
class LineSet:
    """The two lines between indoor and outdoor unit.

    Parameters
    ----------
    length_m : float
        Each [m].
    liquid_bore_m, vapour_bore_m : float
        Inside diameters [m]: 3/8 and 7/8 in lines unless told otherwise.
    heat_gain_w_m_k : float
        Through the insulation of the vapour line, per metre (0.25 assumed).
    """

    length_m: float = 7.62
    liquid_bore_m: float = 0.0079
    vapour_bore_m: float = 0.0199
    heat_gain_w_m_k: float = 0.25

    @property
    def liquid_volume_m3(self) -> float:
        """Inside volume of the liquid line [m3]."""
        return np.pi / 4.0 * self.liquid_bore_m**2 * self.length_m

    @property
    def vapour_volume_m3(self) -> float:
        """Inside volume of the vapour line [m3]."""
        return np.pi / 4.0 * self.vapour_bore_m**2 * self.length_m

    @property
    def liquid_resistance_1_m4(self) -> float:
        """Pressure drop of the liquid line over flow squared per density [1/m4]."""
        return _resistance(self.length_m, self.liquid_bore_m)

    @property
    def vapour_resistance_1_m4(self) -> float:
        """Pressure drop of the vapour line over flow squared per density [1/m4]."""
        return _resistance(self.length_m, self.vapour_bore_m)


@dataclass(frozen=True)
class Start:
    """Where the search for a steady state begins: a solved point, and which way it moves.

    Parameters
    ----------
    conditions : FloatArray
        Shape (8,): as `Points.conditions` gives them at that point.
    guess : FloatArray
        Shape (3,): its solution, as `catchpan.physics.cycle.march.march` takes it.
    by_condition : FloatArray
        Shape (3, 8): how the solution moves with each condition.
    slope : FloatArray
        Shape (3, 3): how the errors move with the guess there.
    """

    conditions: FloatArray
    guess: FloatArray
    by_condition: FloatArray
    slope: FloatArray


@dataclass(frozen=True)
class Parts:
    """What is the same at every operating point of a batch.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    compressor : Compressor
        The compressor.
    evaporator, condenser : Coil
        The coils, in the roles they have in this mode.
    metering : Metering
        The device used in this mode.
    lines : LineSet
        The line set.
    suction_line : bool
        Whether the vapour line carries suction gas (cooling) or hot gas (heating).
    accumulator_m3 : float
        Volume of the suction accumulator, 0 for none.
    start : Start or None
        Where to begin the search; it changes nothing but how long that takes.
    """

    table: RefrigerantTable = field(repr=False)
    compressor: Compressor
    evaporator: Coil
    condenser: Coil
    metering: Metering
    lines: LineSet
    suction_line: bool = True
    accumulator_m3: float = 0.0
    start: Start | None = field(default=None, repr=False, compare=False)

    @property
    def volume_m3(self) -> float:
        """Inside volume of the whole circuit [m3]."""
        coils = self.evaporator.volume_m3 + self.condenser.volume_m3
        lines = self.lines.liquid_volume_m3 + self.lines.vapour_volume_m3
        return coils + lines + self.compressor.shell_volume_m3 + self.accumulator_m3


@dataclass(frozen=True)
class Points:
    """What may differ from point to point: arrays of one shape.

    Parameters
    ----------
    evaporator_air, condenser_air : AirStream
        The air entering the coils.
    evaporator_share, condenser_share : FloatArray
        Share of the air-side conductance left.
    charge_kg : FloatArray
        Refrigerant in the circuit [kg].
    area_share : FloatArray
        Share of the metering device's area.
    stuck_opening : FloatArray
        Opening at which a valve is stuck, 0 to 1; not a number while it moves.
    restriction_1_m4 : FloatArray
        Added resistance of the liquid line [1/m4].
    foreign_gas : FloatArray
        Non-condensable gas over what the circuit holds at one atmosphere.
    delivered_share : FloatArray
        Share of the flow that the compressor's valves do not let slip back.
    leak_share : FloatArray
        Share of the hot gas that a reversing valve lets through to the suction.
    line_air_k : FloatArray
        Temperature round the vapour line [K].
    """

    evaporator_air: AirStream
    condenser_air: AirStream
    evaporator_share: FloatArray
    condenser_share: FloatArray
    charge_kg: FloatArray
    area_share: FloatArray
    stuck_opening: FloatArray
    restriction_1_m4: FloatArray
    foreign_gas: FloatArray
    delivered_share: FloatArray
    leak_share: FloatArray
    line_air_k: FloatArray

    def at(self, index: NDArray[Any] | slice) -> Self:
        """Return some of the points."""
        return type(self)(*(_at(getattr(self, each.name), index) for each in fields(self)))

    def plain(self, index: int) -> "Points":
        """Return one of the points, its fields plain floats."""
        return Points(*(_plain(getattr(self, each.name), index) for each in fields(self)))

    @property
    def conditions(self) -> tuple[FloatArray, ...]:
        """What moves a machine most: the air, its flows, how clean the coils are, the charge."""
        cold, warm = self.evaporator_air, self.condenser_air
        return (
            cold.temperature_k,
            cold.humidity_ratio,
            warm.temperature_k,
            log(cold.flow_kg_s),
            log(warm.flow_kg_s),
            log(self.charge_kg),
            log(self.evaporator_share),
            log(self.condenser_share),
        )

    @property
    def count(self) -> int:
        """How many points there are."""
        return int(self.charge_kg.size)


def _at(value: Any, index: NDArray[Any] | slice) -> Any:
    if isinstance(value, AirStream):
        return AirStream(*(getattr(value, each.name)[index] for each in fields(value)))
    return value[index]


def _plain(value: Any, index: int) -> Any:
    if isinstance(value, AirStream):
        one: list[Any] = [float(getattr(value, each.name)[index]) for each in fields(value)]
        return AirStream(*one)
    return float(value[index])


def _resistance(length_m: float, bore_m: float) -> float:
    area = np.pi / 4.0 * bore_m**2
    return float(FRICTION * length_m / bore_m / (2.0 * area**2))
