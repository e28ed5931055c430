"""The compressor: a ten-coefficient map, carried over to the unit's size and refrigerant."""

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from catchpan.physics.elementwise import clip, exp, maximum, minimum
from catchpan.physics.refrigerant.grid import Sheet
from catchpan.physics.refrigerant.table import RefrigerantTable, Saturation
from catchpan.units.span import FloatArray

MAP_SUPERHEAT_K: Final = 20.0 / 1.8
"""Suction superheat at which the maps hold (20 degF)."""

DENSITY_SHARE: Final = 0.75
"""How much of a change of suction density reaches the mass flow (Rice and Dabiri 1981)."""

_POUND_PER_HOUR: Final = 0.45359237 / 3600.0
_COLDEST_K, _WARMEST_K = 249.8, 286.0
_LEAST_HEAD_K, _MOST_HEAD_K = 299.8, 338.7
_MOST_LIFT_K: Final = 58.3
_VOLUME_FALL: Final = 0.03
_EFFICIENCY_FALL: Final = 0.05


@dataclass(frozen=True)
class CompressorMap:
    """Ten coefficients each for mass flow and power, in the standard's own units.

    ``X = C1 + C2 S + C3 D + C4 S2 + C5 S D + C6 D2 + C7 S3 + C8 D S2 + C9 S D2 + C10 D3`` with the
    dew temperatures S (suction) and D (discharge) in degF; lbm/h and W.

    Parameters
    ----------
    components : str
        The refrigerant it was measured with, as CoolProp calls it.
    mass, power : tuple of float
        The coefficients C1 to C10.

    Source: [ahri-540] form.
    """

    components: str
    mass: tuple[float, ...]
    power: tuple[float, ...]

    def mass_flow_kg_s(self, suction_dew_k: ArrayLike, discharge_dew_k: ArrayLike) -> FloatArray:
        """Return the mass flow [kg/s] from the dew temperatures [K] at 20 degF superheat."""
        return _polynomial(self.mass, suction_dew_k, discharge_dew_k) * _POUND_PER_HOUR

    def power_w(self, suction_dew_k: ArrayLike, discharge_dew_k: ArrayLike) -> FloatArray:
        """Return the power [W] from the dew temperatures [K]."""
        return _polynomial(self.power, suction_dew_k, discharge_dew_k)


MAP_R410A: Final = CompressorMap(
    "R410A",
    (
        *(217.3163128, 5.094492028, -0.593170311, 0.0438, -0.0214, 0.0104),
        *(7.90e-5, -5.73e-5, 1.79e-4, -8.08e-5),
    ),
    (
        *(-561.3615705, -15.62601841, 46.92506685, -0.217949552, 0.435062616, -0.442400826),
        *(2.25e-4, 2.37e-3, -3.32e-3, 2.50e-3),
    ),
)
"""A scroll of nominally three tons. Source: [achp] component file."""

MAP_R134A: Final = CompressorMap(
    "R134a",
    (
        *(78.45705988, 8.105620464, 3.590099771, -0.0236, -0.0313, -0.0345),
        *(4.58e-4, 4.98e-4, 3.23e-5, 1.06e-4),
    ),
    (
        *(563.4903564, -0.850264132, 15.87519932, 0.186075896, -0.03718422, -0.05676081),
        *(-4.96735e-6, -1.735431e-3, 5.94752e-4, 5.98663e-4),
    ),
)
"""Source: [achp] component file."""


@dataclass(frozen=True)
class Compressor:
    """A compressor of a certain size, for one refrigerant.

    Parameters
    ----------
    sheet : Sheet
        Map flow [kg/s], specific volume at the map's suction state [m3/kg] and overall isentropic
        efficiency, against suction and discharge dew temperature [K].
    flow_scale, flow_slope : float
        Size over the map's, and power of the pressure ratio (over 3) that goes with it.
    efficiency_scale, efficiency_slope : float
        Likewise for the efficiency.
    heat_loss_share : float
        Share of the power that leaves through the shell (0.05 assumed).
    shell_volume_m3 : float
        Room for suction gas [m3] (0.004 assumed).
    """

    sheet: Sheet = field(repr=False)
    flow_scale: float = 1.0
    flow_slope: float = 0.0
    efficiency_scale: float = 1.0
    efficiency_slope: float = 0.0
    heat_loss_share: float = 0.05
    shell_volume_m3: float = 0.004

    def scaled(self, flow: float, efficiency: float) -> "Compressor":
        """Return the same compressor with both scales multiplied."""
        return replace(
            self,
            flow_scale=self.flow_scale * flow,
            efficiency_scale=self.efficiency_scale * efficiency,
        )


@dataclass(frozen=True)
class Compression:
    """What a compressor does.

    Parameters
    ----------
    flow_kg_s : FloatArray
        Mass flow delivered [kg/s].
    power_w : FloatArray
        Electric power [W].
    discharge_j_kg : FloatArray
        Enthalpy of the gas at the discharge [J/kg].
    suction_volume_m3_kg : FloatArray
        Specific volume at the suction [m3/kg].
    suction_superheat_k : FloatArray
        Superheat there [K], 0 when wet.
    """

    flow_kg_s: FloatArray
    power_w: FloatArray
    discharge_j_kg: FloatArray
    suction_volume_m3_kg: FloatArray
    suction_superheat_k: FloatArray


def compressor_for(table: RefrigerantTable, of_map: RefrigerantTable | None = None) -> Compressor:
    """Return the map's compressor working with a refrigerant.

    Parameters
    ----------
    table : RefrigerantTable
        The unit's refrigerant.
    of_map : RefrigerantTable, optional
        Tables of R-410A, whose map is used when the refrigerant has none of its own: equal
        swept volume, volumetric and isentropic efficiency at equal dew temperatures. Not needed
        for R-410A and R-134a.

    Returns
    -------
    Compressor
        At the map's own size.

    Notes
    -----
    The map is used from -10 to 55 degF evaporating and 80 to 150 degF condensing, at most 105 degF
    apart; outside, flow and efficiency are those at the border, falling with further pressure
    ratio (assumed).

    Source: [ahri-540] form; coefficients [achp]; carrying over to another refrigerant is ours.
    """
    own = MAP_R134A if table.fluid.components == "R134a" else MAP_R410A
    measured = table if own.components == table.fluid.components else of_map or table
    suction = np.arange(208.15, 308.2, 0.5)[:, None]
    discharge = np.arange(248.15, 361.2, 0.5)[None, :]
    cold, hot = clip(suction, _COLDEST_K, _WARMEST_K), clip(discharge, _LEAST_HEAD_K, None)
    hot = minimum(hot, minimum(_MOST_HEAD_K, cold + _MOST_LIFT_K))
    volume, efficiency = _performance(own, measured, cold, hot)
    top = table.log_pressures.nodes[-1]
    pressure, head = (table.dew_pressure_pa(minimum(at, top)) for at in (suction, discharge))
    excess = head / pressure - table.dew_pressure_pa(hot) / table.dew_pressure_pa(cold)
    further = clip(excess, -2.0, 20.0)
    v_suction = _suction_volume(table, pressure)
    flow = volume * exp(-_VOLUME_FALL * further) / v_suction
    efficiency = efficiency * exp(-_EFFICIENCY_FALL * maximum(further, 0.0))
    values = np.stack(np.broadcast_arrays(flow, v_suction, efficiency), axis=-1)
    return Compressor(Sheet(208.15, 0.5, 248.15, 0.5, values))


def compress(
    compressor: Compressor,
    table: RefrigerantTable,
    suction: tuple[FloatArray, Saturation, FloatArray],
    discharge: tuple[FloatArray, Saturation],
    delivered_share: FloatArray,
) -> Compression:
    """Return what the compressor does between two pressures.

    Parameters
    ----------
    compressor : Compressor
        The machine.
    table : RefrigerantTable
        Its refrigerant.
    suction : tuple
        Pressure [Pa], saturation there, and enthalpy of the gas [J/kg]; it may be wet.
    discharge : tuple
        Pressure [Pa] and saturation there.
    delivered_share : FloatArray
        Share of the flow that does not slip back inside (1: sound valves).

    Returns
    -------
    Compression
        Shape by broadcasting.

    Source: [ahri-540] form with [rice-dabiri-1981] for the suction density; slip is ours: the
    power stays that of the whole flow.
    """
    p_low, low, enthalpy = suction
    p_high, high = discharge
    superheat, ratio, over = table.superheat(p_low, enthalpy - low.vapour_enthalpy_j_kg)
    quality = clip(low.quality(enthalpy), 0.05, 1.0)
    entropy = low.vapour_entropy_j_kg_k + over - (1.0 - quality) * low.latent_entropy_j_kg_k
    v_liquid, v_vapour = 1.0 / low.liquid_density_kg_m3, ratio / low.vapour_density_kg_m3
    volume = v_liquid + quality * (v_vapour - v_liquid)
    flow, v_map, efficiency = compressor.sheet.at(low.dew_k, high.dew_k)
    pressures = p_high / p_low / 3.0
    flow = flow * compressor.flow_scale * pressures**compressor.flow_slope
    flow = flow * (1.0 + DENSITY_SHARE * (v_map / volume - 1.0))
    efficiency = efficiency * compressor.efficiency_scale * pressures**compressor.efficiency_slope
    work = _isentropic_j_kg(table, p_high, high, entropy) - enthalpy
    power = flow * maximum(work, 500.0) / efficiency
    delivered = flow * delivered_share
    leaving = enthalpy + power * (1.0 - compressor.heat_loss_share) / delivered
    return Compression(delivered, power, leaving, volume, superheat)


def _polynomial(
    c: tuple[float, ...], suction_dew_k: ArrayLike, discharge_dew_k: ArrayLike
) -> FloatArray:
    s = np.asarray(suction_dew_k, dtype=np.float64) * 1.8 - 459.67
    d = np.asarray(discharge_dew_k, dtype=np.float64) * 1.8 - 459.67
    square = c[3] * s**2 + c[4] * s * d + c[5] * d**2
    cube = c[6] * s**3 + c[7] * d * s**2 + c[8] * s * d**2 + c[9] * d**3
    return c[0] + c[1] * s + c[2] * d + square + cube


def _performance(
    own: CompressorMap, table: RefrigerantTable, cold: FloatArray, hot: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the volume flow [m3/s] and the efficiency behind a map."""
    flow, power = own.mass_flow_kg_s(cold, hot), own.power_w(cold, hot)
    p_low, p_high = table.dew_pressure_pa(cold), table.dew_pressure_pa(hot)
    low, high = table.saturation(p_low), table.saturation(p_high)
    over, _, entropy = table.vapour_over_dew(p_low, MAP_SUPERHEAT_K)
    end = _isentropic_j_kg(table, p_high, high, low.vapour_entropy_j_kg_k + entropy)
    work = end - low.vapour_enthalpy_j_kg - over
    return flow * _suction_volume(table, p_low), flow * work / power


def _suction_volume(table: RefrigerantTable, pressure_pa: FloatArray) -> FloatArray:
    ratio = table.vapour_over_dew(pressure_pa, MAP_SUPERHEAT_K)[1]
    return ratio / table.saturation(pressure_pa).vapour_density_kg_m3


def _isentropic_j_kg(
    table: RefrigerantTable, pressure_pa: FloatArray, at: Saturation, entropy: FloatArray
) -> FloatArray:
    over = entropy - at.vapour_entropy_j_kg_k
    wet = at.dew_k * minimum(over, 0.0)
    return at.vapour_enthalpy_j_kg + wet + table.isentropic_over_dew_j_kg(pressure_pa, over)
