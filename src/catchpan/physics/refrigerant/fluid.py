"""The refrigerants of residential systems, and what CoolProp knows them by."""

from dataclasses import dataclass
from typing import Final

from catchpan.units.errors import UnknownName


@dataclass(frozen=True)
class Refrigerant:
    """A refrigerant as CoolProp understands it, and the span over which it is tabulated.

    Parameters
    ----------
    name : str
        The number on the nameplate.
    components : str
        CoolProp's fluid, or several joined by ``&``.
    mole_fractions : tuple of float
        Share of each component; empty for a single fluid.
    highest_saturation_k : float
        Upper end of the tables, bubble temperature [K]; below the critical point.

    Notes
    -----
    R-410A is CoolProp's pseudo-pure fluid: its mixture fails from 42 to 45.5 degC (facts of
    CoolProp 8.0). R-454B is the composition of CoolProp's predefined ``R454B.mix``, written out.
    """

    name: str
    components: str
    mole_fractions: tuple[float, ...]
    highest_saturation_k: float


REFRIGERANTS: Final = {
    fluid.name: fluid
    for fluid in (
        Refrigerant("R-22", "R22", (), 358.15),
        Refrigerant("R-134a", "R134a", (), 358.15),
        Refrigerant("R-410A", "R410A", (), 343.65),
        Refrigerant("R-32", "R32", (), 348.15),
        Refrigerant("R-454B", "R32&R1234yf", (0.829248, 0.170752), 343.35),
    )
}
"""Every refrigerant there is a table for, by name."""

LOWEST_SATURATION_K: Final = 208.15
"""Lower end of the tables, dew temperature [K]."""


def refrigerant_named(name: str) -> Refrigerant:
    """Return the refrigerant of this name.

    Parameters
    ----------
    name : str
        As printed on a nameplate: capitals, spaces and hyphens do not matter.

    Returns
    -------
    Refrigerant
        The one meant.

    Raises
    ------
    UnknownName
        If there is no table for such a refrigerant.

    Examples
    --------
    >>> refrigerant_named("r410a").name
    'R-410A'
    """
    by_plain = {_plain(known): fluid for known, fluid in REFRIGERANTS.items()}
    if _plain(name) not in by_plain:
        raise UnknownName("refrigerant", name, REFRIGERANTS)
    return by_plain[_plain(name)]


def _plain(name: str) -> str:
    return "".join(char for char in name.casefold() if char.isalnum())
