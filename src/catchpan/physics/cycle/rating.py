"""A unit from its nameplate: sized so that it reproduces its own ratings.

At test A the state of a healthy machine is laid down (evaporating temperature, superheat,
subcooling), which fixes the compressor's size, both coils, the metering device and the inside
volumes one after the other. Test B, and for a heat pump H1 and H3, then fix how size and
efficiency change with the pressure ratio.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from catchpan.physics.cycle.circuit import LineSet
from catchpan.physics.cycle.compressor import Compressor, compressor_for
from catchpan.physics.cycle.design import Design
from catchpan.physics.cycle.sizing import designed_unit, with_volume_share
from catchpan.physics.cycle.solve import OperatingPoints, operating_points, prepared
from catchpan.physics.cycle.unit import Departures, Unit, Weather
from catchpan.physics.refrigerant.table import RefrigerantTable
from catchpan.units.errors import CatchpanError
from catchpan.units.span import FloatArray

DEGRADATION: Final = 0.08
"""Cyclic degradation of single-speed units in cooling (RESNET addendum 82)."""

CAPACITY_B_OVER_A: Final = 1.0 / 0.936
EER_B_OVER_A: Final = 1.244
CAPACITY_H3_OVER_H1: Final = 0.626
COP_H1_OVER_H3: Final = 1.356
"""Usual ratios between the rating points (RESNET addendum 82)."""

TEST_A: Final = Weather(299.817, 292.594, 308.15, 297.039)
"""80/67 degF indoors, 95 degF outdoors. Source: [ahri-210-240]."""

TEST_B: Final = Weather(299.817, 292.594, 300.928, 291.483)
"""80/67 degF indoors, 82 degF outdoors. Source: [ahri-210-240]."""

TEST_H1: Final = Weather(294.261, 288.706, 281.483, 279.261)
"""70 degF indoors, 47/43 degF outdoors. Source: [ahri-210-240]."""

TEST_H3: Final = Weather(294.261, 288.706, 264.817, 263.706)
"""70 degF indoors, 17/15 degF outdoors. Source: [ahri-210-240]."""

TEST_H1_H3: Final = Weather(
    294.261, 288.706, np.array([281.483, 264.817]), np.array([279.261, 263.706])
)
"""Both heating tests at once."""

HEATING_SUPERHEAT_K: Final = 6.0
"""Superheat behind the outdoor coil at H1, by which the device there is sized [K] (assumed)."""

MOST_INDOOR_SHARE: Final = 0.6
"""Largest share of the coils' inside volume that is given to the indoor coil."""

_ROUNDS: Final = 20


@dataclass(frozen=True)
class Rating:
    """What a unit is rated at, net of its indoor blower.

    Parameters
    ----------
    capacity_w : float
        Net total cooling at test A [W].
    cop_a : float
        Net cooling over total power at test A (EER over 3.412).
    capacity_b_w, cop_b : float or None
        At test B; by the usual ratios if not given.
    heating_w, heating_cop : float or None
        Net heating at H1; None for an air conditioner.
    heating_h3_w, heating_h3_cop : float or None
        At H3; by the usual ratios if not given.
    """

    capacity_w: float
    cop_a: float
    capacity_b_w: float | None = None
    cop_b: float | None = None
    heating_w: float | None = None
    heating_cop: float | None = None
    heating_h3_w: float | None = None
    heating_h3_cop: float | None = None


class RatingFitError(CatchpanError):
    """A unit cannot be made to reproduce its ratings.

    Parameters
    ----------
    test : str
        The rating point.
    worst : float
        How far off the nearest unit is, as a share.
    """

    def __init__(self, test: str, worst: float) -> None:
        self.test, self.worst = test, worst
        super().__init__(
            f"the nearest unit misses the rating at test {test} by {worst:.1%}",
            hint="check capacity, efficiency and airflow on the nameplate",
        )


def cop_from_eer(eer: float) -> float:
    """Return watts per watt from an energy efficiency ratio in Btu/h per watt.

    Source: definition, 3.412 Btu/h per watt.
    """
    return eer / 3.412142


def cop_b_from_seer(seer: float) -> float:
    """Return the efficiency at test B from the seasonal one of a single-speed unit.

    Parameters
    ----------
    seer : float
        SEER or SEER2 [Btu/Wh].

    Returns
    -------
    float
        Watts per watt.

    Examples
    --------
    >>> round(cop_b_from_seer(14.3), 3)
    4.366

    Source: [ahri-210-240]: SEER = EER at test B times (1 - Cd/2); Cd 0.08 as RESNET addendum 82.
    """
    return cop_from_eer(seer / (1.0 - DEGRADATION / 2.0))


def fit_unit(
    table: RefrigerantTable,
    rating: Rating,
    design: Design,
    *,
    lines: LineSet | None = None,
    of_map: RefrigerantTable | None = None,
) -> Unit:
    """Return a unit that reproduces its ratings.

    Parameters
    ----------
    table : RefrigerantTable
        The refrigerant.
    rating : Rating
        Nameplate figures.
    design : Design
        Charge, metering device, air flows and fans.
    lines : LineSet, optional
        The line set it is installed with; that of the rating tests if not given.
    of_map : RefrigerantTable, optional
        Tables of R-410A, for a refrigerant without a compressor map of its own.

    Returns
    -------
    Unit
        Charged for its line set.

    Raises
    ------
    RatingFitError
        If capacity or efficiency at a rating point is missed by more than 2 %.

    Source: ours.
    """
    compressor = compressor_for(table, of_map)
    if rating.heating_w is None:
        design = replace(design, accumulator_m3=0.0)
    unit = _fit_cooling(table, rating, design, compressor)
    if rating.heating_w is not None:
        unit = _fit_heating(unit, rating, design)
    if lines is not None:
        more = (lines.length_m - design.rated_lines.length_m) * design.charge_per_metre_kg
        unit = replace(unit, lines=lines, charge_kg=unit.charge_kg + more)
    unit = prepared(unit, TEST_A)
    return unit if rating.heating_w is None else prepared(unit, TEST_H1, heating=True)


def rated(unit: Unit, test: Weather, *, heating: bool = False) -> OperatingPoints:
    """Return the operating point of a unit at a rating test."""
    return operating_points(unit, test, heating=heating)


def _fit_cooling(
    table: RefrigerantTable, rating: Rating, design: Design, compressor: Compressor
) -> Unit:
    """Design at A; bend size and efficiency over the pressure ratio until B fits too."""
    wanted = np.array(
        [
            rating.capacity_b_w or rating.capacity_w * CAPACITY_B_OVER_A,
            rating.cop_b or rating.cop_a * EER_B_OVER_A,
        ]
    )

    def bent(slopes: FloatArray) -> Unit:
        shaped = replace(compressor, flow_slope=float(slopes[0]), efficiency_slope=float(slopes[1]))
        return designed_unit(table, rating.capacity_w, rating.cop_a, design, shaped)

    def miss(slopes: FloatArray) -> FloatArray:
        b = rated(bent(slopes), TEST_B)
        return np.asarray(np.array([b.net_w[0], b.cop[0]]) / wanted - 1.0)

    unit = bent(_two_unknowns(miss, np.zeros(2), 0.1))
    _check(unit, "A", TEST_A, (rating.capacity_w, rating.cop_a))
    _check(unit, "B", TEST_B, (float(wanted[0]), float(wanted[1])))
    return unit


def _two_unknowns(
    miss: Callable[[FloatArray], FloatArray], start: FloatArray, nudge: float
) -> FloatArray:
    """Return where two misses vanish, by Newton steps with finite differences."""
    x = start
    for _ in range(_ROUNDS):
        f = miss(x)
        if np.abs(f).max() < 1e-3:
            break
        slope = np.stack([(miss(x + d) - f) / nudge for d in nudge * np.eye(2)], axis=1)
        x = x - np.clip(np.linalg.solve(slope, f), -0.6, 0.6)
    return np.asarray(x)


def _fit_heating(unit: Unit, rating: Rating, design: Design) -> Unit:
    """Fit size and efficiency of the compressor in heating, and their slopes, to H1 and H3."""
    wanted = _heating_wanted(rating)
    unit = replace(unit, heating_compressor=unit.compressor, heating_metering=unit.metering)
    share = design.indoor_volume_share
    for _ in range(_ROUNDS):
        unit = _with_heating_area(unit)
        h = operating_points(unit, TEST_H1_H3, heating=True)
        miss = np.log(wanted / np.stack([h.net_w, h.cop]))
        surplus = float(h.subcooling_k[0]) - design.heating_subcooling_k
        if np.abs(miss).max() < 1e-3 and (abs(surplus) < 0.3 or share == MOST_INDOOR_SHARE):
            break
        share = min(max(share + 0.01 * surplus, 0.2), MOST_INDOOR_SHARE)
        unit = with_volume_share(unit, share, rating.capacity_w, rating.cop_a, design)
        unit = replace(unit, heating_compressor=_bent(unit.heating_compressor, miss, h))
    _check(unit, "H1", TEST_H1, (wanted[0, 0], wanted[1, 0]), heating=True)
    _check(unit, "H3", TEST_H3, (wanted[0, 1], wanted[1, 1]), heating=True)
    return unit


def _heating_wanted(rating: Rating) -> FloatArray:
    """Return capacities and efficiencies at H1 and H3, shape (2, 2)."""
    capacity, cop = rating.heating_w or 0.0, rating.heating_cop or 3.5
    low = rating.heating_h3_w or capacity * CAPACITY_H3_OVER_H1
    low_cop = rating.heating_h3_cop or cop / COP_H1_OVER_H3
    return np.array([[capacity, low], [cop, low_cop]])


def _bent(
    compressor: Compressor | None, miss: FloatArray, points: OperatingPoints
) -> Compressor | None:
    """Return the compressor with scales and slopes changed by what is missing at two points."""
    if compressor is None:
        return None
    high, low = np.log(points.liquid_pa / points.suction_pa / 3.0)[::-1]
    slope = (miss[:, 1] - miss[:, 0]) / (high - low)
    scale = np.exp(miss[:, 0] - slope * low)
    return replace(
        compressor.scaled(float(scale[0]), float(scale[1])),
        flow_slope=compressor.flow_slope + float(slope[0]),
        efficiency_slope=compressor.efficiency_slope + float(slope[1]),
    )


def _with_heating_area(unit: Unit) -> Unit:
    """Size the device at the outdoor coil for the usual superheat at H1."""
    metering = unit.heating_metering
    if metering is None:
        return unit
    shares = np.geomspace(0.4, 1.6, 25)
    tried = operating_points(
        unit, TEST_H1, Departures(metering_area=shares), heating=True
    ).bulb_superheat_k
    right = float(np.interp(-HEATING_SUPERHEAT_K, -tried, shares))
    return replace(unit, heating_metering=replace(metering, area_m2=metering.area_m2 * right))


def _check(
    unit: Unit, name: str, test: Weather, wanted: tuple[float, float], *, heating: bool = False
) -> None:
    found = rated(unit, test, heating=heating)
    worst = max(abs(found.net_w[0] / wanted[0] - 1.0), abs(found.cop[0] / wanted[1] - 1.0))
    if worst > 0.02:
        raise RatingFitError(name, float(worst))
