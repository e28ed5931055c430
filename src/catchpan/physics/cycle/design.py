"""What a nameplate or a good guess says about how a unit is made."""

from dataclasses import dataclass, field
from typing import Final

from catchpan.physics.cycle.circuit import LineSet
from catchpan.units.errors import CatchpanError

INSIDE_OVER_AIR: Final = (2.5, 5.0)
"""Refrigerant-side over air-side conductance of a coil at rated flows, less and more efficient
units (assumed: plain tubes, and tubes grooved inside)."""

LIQUID_SHARE: Final = (0.35, 0.6)
"""Refrigerant-side conductance of liquid over that of two phases, coils of one row and of more, in
which circuits join before they subcool and the liquid runs twice as fast (assumed)."""

EVAPORATING_K: Final = (282.15, 284.15)
"""Dew temperature in the evaporator at test A, less and more efficient units [K] (assumed; with the
second R-410A units have makers' pressures at 95 degF outdoors)."""

COIL_VOLUME_M3_W: Final = 4.5e-7
"""Inside volume of both coils over capacity, before it is fitted to the charge (assumed)."""

TON_W: Final = 3516.85
CUBIC_FOOT_PER_MINUTE: Final = 4.719474e-4

INDOOR_K, INDOOR_WET_BULB_K = 299.817, 292.594
OUTDOOR_K, OUTDOOR_WET_BULB_K = 308.15, 297.039
"""Test A: 80/67 degF indoors, 95/75 degF outdoors. Source: [ahri-210-240]."""

LEAST_END_K, MOST_APPROACH_K = 1.5, 18.0
"""Bounds of the condensing approach: liquid over outdoor air, condensing over outdoor air [K]."""

LEAST_APPROACH_OVER_RISE: Final = 1.12
"""Condensing approach over the rise of the outdoor air that a large coil can reach."""

BARE_EVAPORATING_K: Final = 282.15
"""Evaporating temperature at which the compressor of a unit would be as good as its map [K]: the
condensing approach is looked for there, and a larger indoor coil leaves it as it is. So suction and
liquid pressure both lie where makers' R-410A tables have them; the compressor of an efficient unit
then comes out some 7 % under its map, which was measured bare (fitted to those pressures)."""

EFFICIENT_COP: Final = 11.0 / 3.412
"""From this efficiency at test A on, coils of unknown make are those of a more efficient unit: two
rows outdoors, a warmer evaporator, grooved tubes (assumed)."""

LEAST_VOLUME, MOST_VOLUME = 0.2, 4.0


@dataclass(frozen=True)
class Design:
    """What a nameplate or a good guess says about a unit's make.

    Parameters
    ----------
    charge_kg : float
        Right charge with the rated line set [kg].
    is_valve : bool
        Expansion valve, or fixed orifice, at the indoor coil.
    indoor_air_m3_s : float
        Rated standard air flow [m3/s]; 0 for 400 cfm a ton.
    outdoor_air_m3_s : float
        Standard air flow outdoors [m3/s]; 0 for 850 cfm a ton (assumed).
    indoor_fan_w_s_m3, outdoor_fan_w_s_m3 : float
        Fan power over air flow [W s/m3]: 0.365 W/cfm indoors (PSC; AHRI 210/240 default),
        0.09 W/cfm outdoors (assumed).
    evaporating_k : float or None
        Dew temperature in the evaporator at test A [K]; None for the usual, `EVAPORATING_K`.
    superheat_k, subcooling_k : float
        Superheat behind the evaporator and subcooling at test A [K].
    approach_k : float or None
        Condensing dew temperature over outdoor air at test A [K]; None for that at which the
        compressor is as efficient as its map while it evaporates at `BARE_EVAPORATING_K`.
    indoor_volume_share : float
        Inside volume of the indoor coil over that of both (0.38 assumed; for a heat pump it is
        fitted to `heating_subcooling_k`).
    heating_subcooling_k : float
        Subcooling of a heat pump at test H1 with the charge that is right for cooling [K]
        (assumed).
    rated_lines : LineSet
        The line set of the rating tests, 25 ft.
    charge_per_metre_kg : float
        Charge for each further metre (0.6 oz/ft for 3/8 in liquid line; common practice).
    accumulator_m3 : float
        Volume of the accumulator [m3], if it is a heat pump (assumed).
    indoor_rows, outdoor_rows : int
        Depth of the coils in rows of tubes; it matters where they condense. 0 outdoors for two
        rows from EER 11 (SEER 13) on, else one; three indoors (assumed).
    inside_over_air : float or None
        Refrigerant-side over air-side conductance of the coils; None for `INSIDE_OVER_AIR`.
    """

    charge_kg: float
    is_valve: bool = True
    indoor_air_m3_s: float = 0.0
    outdoor_air_m3_s: float = 0.0
    indoor_fan_w_s_m3: float = 773.0
    outdoor_fan_w_s_m3: float = 190.0
    evaporating_k: float | None = None
    superheat_k: float = 6.5
    subcooling_k: float = 5.6
    approach_k: float | None = None
    indoor_volume_share: float = 0.38
    heating_subcooling_k: float = 8.0
    rated_lines: LineSet = field(default_factory=LineSet)
    charge_per_metre_kg: float = 0.0558
    accumulator_m3: float = 0.0035
    indoor_rows: int = 3
    outdoor_rows: int = 0
    inside_over_air: float | None = None

    def state_k(self, cop: float) -> float:
        """Return the dew temperature in the evaporator at test A [K] of a unit of that efficiency.

        Parameters
        ----------
        cop : float
            Net cooling over total power at test A.
        """
        return self.evaporating_k or EVAPORATING_K[cop >= EFFICIENT_COP]

    def inside(self, cop: float) -> float:
        """Return refrigerant-side over air-side conductance for a unit of that efficiency."""
        return self.inside_over_air or INSIDE_OVER_AIR[cop >= EFFICIENT_COP]


class DesignError(CatchpanError):
    """No coil or compressor of sensible size does what the nameplate says.

    Parameters
    ----------
    what : str
        The part.
    why : str
        What it would have to be.
    """

    def __init__(self, what: str, why: str) -> None:
        self.what, self.why = what, why
        super().__init__(
            f"no sensible {what} does it: {why}", hint="check capacity, efficiency and airflow"
        )
