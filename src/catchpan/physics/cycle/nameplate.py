"""From what stands on a nameplate to a unit: what is not printed there is assumed, and said."""

from dataclasses import dataclass, field, replace
from typing import Final

from catchpan.physics.cycle.circuit import LineSet
from catchpan.physics.cycle.design import CUBIC_FOOT_PER_MINUTE, TON_W, Design
from catchpan.physics.cycle.rating import (
    EER_B_OVER_A,
    Rating,
    cop_b_from_seer,
    cop_from_eer,
    fit_unit,
)
from catchpan.physics.cycle.unit import Unit
from catchpan.physics.refrigerant.table import RefrigerantTable
from catchpan.units.errors import BadValue

NEW_TEST_FAN_W_S_M3: Final = 0.441 / CUBIC_FOOT_PER_MINUTE
"""Blower power over air flow behind SEER2 and EER2, 0.441 W/cfm: 0.5 in w.c. external static. From
memory of the default in 10 CFR 430 appendix M1."""

USUAL_CHARGE_KG_W: Final = 2.9e-4
"""Charge over cooling capacity where the nameplate's is not known (about 2.2 lb a ton; assumed)."""

USUAL_HEATING_COP: Final = 3.5
"""At test H1, where the rating is not known (assumed)."""


@dataclass(frozen=True)
class Nameplate:
    """What a technician can read off a unit, or look up by its model number.

    Parameters
    ----------
    tons : float
        Nominal cooling capacity [tons of 12 000 Btu/h], 1 to 6.
    seer : float
        SEER or SEER2 [Btu/Wh].
    eer : float or None
        EER or EER2 at test A [Btu/Wh].
    is_new_test : bool
        Whether these are SEER2 and EER2.
    is_valve : bool
        Expansion valve, or fixed orifice, at the indoor coil.
    charge_kg : float or None
        Right charge with the rated line set [kg].
    subcooling_k : float or None
        The maker's target subcooling [K].
    lines : LineSet or None
        The line set it is installed with, if other than 25 ft.
    is_heat_pump : bool
        Whether it heats.
    heating_w, heating_cop : float or None
        Capacity [W] and efficiency at test H1 (47 degF).
    heating_h3_w, heating_h3_cop : float or None
        Likewise at H3 (17 degF).
    """

    tons: float
    seer: float
    eer: float | None = None
    is_new_test: bool = False
    is_valve: bool = True
    charge_kg: float | None = None
    subcooling_k: float | None = None
    lines: LineSet | None = None
    is_heat_pump: bool = False
    heating_w: float | None = None
    heating_cop: float | None = None
    heating_h3_w: float | None = None
    heating_h3_cop: float | None = None


@dataclass(frozen=True)
class Understood:
    """A nameplate in the terms of the fit.

    Parameters
    ----------
    rating : Rating
        Capacities and efficiencies at the rating points.
    design : Design
        Charge, metering, fans.
    assumed : tuple of str
        What the nameplate did not say, and what was taken instead.
    """

    rating: Rating
    design: Design
    assumed: tuple[str, ...] = field(default=())


def understood(nameplate: Nameplate) -> Understood:
    """Return a nameplate as ratings and design.

    Parameters
    ----------
    nameplate : Nameplate
        What is known.

    Returns
    -------
    Understood
        With everything that had to be assumed.

    Raises
    ------
    BadValue
        If capacity or efficiency cannot be those of a residential unit.

    Source: EER at test B from SEER or SEER2 [ahri-210-240], and test A from B, [resnet-82].
    """
    _checked("tons", nameplate.tons, 1.0, 6.0)
    _checked("seer", nameplate.seer, 6.0, 30.0)
    assumed = []
    capacity = nameplate.tons * TON_W
    cop_b = cop_b_from_seer(nameplate.seer)
    if nameplate.eer is None:
        cop_a = cop_b / EER_B_OVER_A
        assumed.append(f"EER {cop_a * 3.412:.1f}, as usual for this SEER")
    else:
        _checked("eer", nameplate.eer, 5.0, 25.0)
        cop_a = cop_from_eer(nameplate.eer)
    charge = nameplate.charge_kg
    if charge is None:
        charge = USUAL_CHARGE_KG_W * capacity
        assumed.append(f"charge {charge:.1f} kg, as usual for this capacity")
    design = Design(charge, nameplate.is_valve)
    if nameplate.is_new_test:
        design = replace(design, indoor_fan_w_s_m3=NEW_TEST_FAN_W_S_M3)
    if nameplate.subcooling_k is not None:
        design = replace(design, subcooling_k=nameplate.subcooling_k)
    rating = Rating(capacity, cop_a, cop_b=cop_b)
    if nameplate.is_heat_pump:
        rating = _with_heating(rating, nameplate, assumed)
    return Understood(rating, design, tuple(assumed))


def unit_from_nameplate(
    table: RefrigerantTable, nameplate: Nameplate, of_map: RefrigerantTable | None = None
) -> Unit:
    """Return a unit that reproduces what its nameplate says.

    Parameters
    ----------
    table : RefrigerantTable
        Its refrigerant.
    nameplate : Nameplate
        What is known.
    of_map : RefrigerantTable, optional
        Tables of R-410A, for a refrigerant without a compressor map of its own.

    Returns
    -------
    Unit
        Charged for its line set.

    Raises
    ------
    BadValue, DesignError, RatingFitError
        If no sensible unit has such a nameplate.

    Source: ours.
    """
    known = understood(nameplate)
    return fit_unit(table, known.rating, known.design, lines=nameplate.lines, of_map=of_map)


def _with_heating(rating: Rating, nameplate: Nameplate, assumed: list[str]) -> Rating:
    heating, cop = nameplate.heating_w, nameplate.heating_cop
    if heating is None:
        heating = rating.capacity_w
        assumed.append("heating capacity at 47 °F equal to cooling")
    if cop is None:
        cop = USUAL_HEATING_COP
        assumed.append(f"heating COP {cop:g} at 47 °F")
    if nameplate.heating_h3_w is None or nameplate.heating_h3_cop is None:
        assumed.append("heating at 17 °F by the usual ratios to 47 °F")
    return replace(
        rating,
        heating_w=heating,
        heating_cop=cop,
        heating_h3_w=nameplate.heating_h3_w,
        heating_h3_cop=nameplate.heating_h3_cop,
    )


def _checked(what: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise BadValue(f"nameplate {what}", f"{value:g} cannot be", f"{low:g} to {high:g}")
