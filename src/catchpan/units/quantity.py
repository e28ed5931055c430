"""Quantities at the edges: text or number in, SI float inside, text out.

Gauge pressures are kept as pascals above the barometer and absolute ones as pascals above nothing;
``psig`` where an absolute pressure is wanted is converted with the barometer given. ``°F`` where a
temperature difference is wanted is taken as a difference; ``delta °F`` is never a temperature.
"""

import math
import re
from typing import Final

from catchpan.units.errors import BadValue, UnknownName
from catchpan.units.unit import Dimension, Unit, find_units, units_of

STANDARD_BAROMETER_PA: Final = 101325.0
"""Barometric pressure at sea level [Pa]."""

_OVER_LIMIT: Final = frozenset({"ol", "open", "inf", "infinite", "∞", "overlimit"})
_NUMBER: Final = re.compile(
    r"""(?P<sign>[+-]?)\s*
    (?:(?:(?P<whole>\d+)[-\s]+)?(?P<over>\d+)/(?P<under>\d+)
    |(?P<plain>(?:\d{1,3}(?:,\d{3})+|\d+)?(?:\.\d*)?(?:[eE][+-]?\d+)?))
    \s*(?P<unit>.*)""",
    re.VERBOSE | re.DOTALL,
)


def parse(
    value: str | float,
    dimension: Dimension | str,
    default_unit: str,
    *,
    barometer_pa: float = STANDARD_BAROMETER_PA,
    where: str = "",
) -> float:
    """Read a quantity as people give it.

    Parameters
    ----------
    value : str or float
        A bare number, taken in the default unit, or text such as ``"118 psig"``, ``"1-1/2 in"``,
        ``"1,200 cfm"``. ``"OL"`` is an infinite resistance.
    dimension : Dimension or str
        What is expected.
    default_unit : str
        The unit of a bare number.
    barometer_pa : float, optional
        Barometric pressure at the site [Pa], to turn gauge into absolute pressure or back.
    where : str, optional
        The field, for the error.

    Returns
    -------
    float
        The quantity [SI unit of the dimension]; infinite only for a resistance.

    Raises
    ------
    BadValue
        If it is not a number, is in a unit of something else, or is physically impossible.
    UnknownName
        If the unit or the dimension is unknown.

    Examples
    --------
    >>> round(parse("212 °F", "temperature", "°F"), 2)
    373.15
    >>> parse("OL", "resistance", "ohm")
    inf
    """
    kind = _dimension(dimension)
    default = _unit_for(default_unit, kind, default_unit, where)
    if isinstance(value, str):
        number, unit = _read(value, kind, default, where)
    else:
        number, unit = _finite(value, kind, where), default
    return _checked(_to_si(number, unit, kind, barometer_pa), value, kind, where)


def format_quantity(
    si_value: float,
    unit: str,
    digits: int = 1,
    *,
    dimension: Dimension | str | None = None,
    barometer_pa: float = STANDARD_BAROMETER_PA,
) -> str:
    """Write a quantity for people.

    Parameters
    ----------
    si_value : float
        The quantity [SI unit of its dimension].
    unit : str
        The unit to print it in.
    digits : int, optional
        Digits after the point, 0 to 12.
    dimension : Dimension or str, optional
        What it measures. Needed only when the unit leaves it open (an absolute pressure in psig,
        a temperature difference in K or °F); otherwise the unit's first meaning.
    barometer_pa : float, optional
        Barometric pressure at the site [Pa].

    Returns
    -------
    str
        Such as ``"118.4 psig"``; an infinite resistance is ``"OL"``.

    Raises
    ------
    BadValue
        If the unit measures something else or the value cannot be printed.
    UnknownName
        If the unit or the dimension is unknown.

    Examples
    --------
    >>> format_quantity(373.15, "°F")
    '212.0 °F'
    """
    kind = _dimension(dimension) if dimension is not None else find_units(unit)[0].dimension
    target = _unit_for(unit, kind, unit, "")
    if kind is Dimension.RESISTANCE and si_value == math.inf:
        return "OL"
    if not math.isfinite(si_value):
        raise BadValue("", f"{si_value} cannot be printed as a {kind}", "a finite number")
    number = (_shifted(si_value, target, kind, -barometer_pa) - target.zero_si()) / target.scale()
    text = f"{number:.{digits}f}"
    if float(text) == 0.0:
        text = text.removeprefix("-")
    return f"{text} {target.name}".rstrip()


def _dimension(dimension: Dimension | str) -> Dimension:
    if isinstance(dimension, Dimension):
        return dimension
    try:
        return Dimension(dimension)
    except ValueError:
        raise UnknownName("dimension", dimension, list(Dimension)) from None


def _read(text: str, kind: Dimension, default: Unit, where: str) -> tuple[float, Unit]:
    clean = text.strip().replace("\N{MINUS SIGN}", "-")
    if re.sub(r"[\s.]", "", clean).casefold() in _OVER_LIMIT:
        return _finite(math.inf, kind, where), default
    match = _NUMBER.fullmatch(clean)
    number = _number(match) if match else None
    if match is None or number is None:
        raise BadValue(where, f"{text!r} does not begin with a number", _example(kind, default))
    written = match["unit"].strip()
    if written.startswith(","):
        raise BadValue(where, f"{text!r} has a comma", f"a point, as in {_example(kind, default)}")
    unit = _unit_for(written, kind, text, where) if written else default
    return _finite(number, kind, where), unit


def _number(match: re.Match[str]) -> float | None:
    sign = -1.0 if match["sign"] == "-" else 1.0
    if match["over"]:
        if int(match["under"]) == 0:
            return None
        return sign * (int(match["whole"] or 0) + int(match["over"]) / int(match["under"]))
    try:
        return sign * float(match["plain"].replace(",", ""))
    except ValueError:
        return None


def _finite(value: float, kind: Dimension, where: str) -> float:
    over_limit = value == math.inf and kind is Dimension.RESISTANCE
    if isinstance(value, bool) or not (math.isfinite(value) or over_limit):
        raise BadValue(where, f"{value!r} is not a usable {kind}", "a finite number")
    return float(value)


_CROSSING: Final = {
    (Dimension.GAUGE_PRESSURE, Dimension.ABSOLUTE_PRESSURE): 1.0,
    (Dimension.ABSOLUTE_PRESSURE, Dimension.GAUGE_PRESSURE): -1.0,
}
"""How often the barometer is added when a unit of the first serves where the second is wanted."""


def _unit_for(written: str, kind: Dimension, text: str, where: str) -> Unit:
    try:
        candidates = find_units(written)
    except UnknownName as error:
        raise UnknownName("unit", written, units_of(kind)).at(where) from error
    fitting = [unit for unit in candidates if unit.dimension is kind]
    crossing = [unit for unit in candidates if (unit.dimension, kind) in _CROSSING]
    for unit in (*fitting, *crossing):
        return unit
    problem = f"{text!r} is a {candidates[0].dimension}, not a {kind}"
    raise BadValue(where, problem, f"a {kind} in {_listed(units_of(kind))}")


def _to_si(number: float, unit: Unit, kind: Dimension, barometer_pa: float) -> float:
    return _shifted(number * unit.scale() + unit.zero_si(), unit, kind, barometer_pa)


def _shifted(value: float, unit: Unit, kind: Dimension, barometer_pa: float) -> float:
    return value + _CROSSING.get((unit.dimension, kind), 0.0) * barometer_pa


def _checked(si_value: float, value: str | float, kind: Dimension, where: str) -> float:
    never_negative = {Dimension.TEMPERATURE: "absolute zero", Dimension.ABSOLUTE_PRESSURE: "vacuum"}
    if kind in never_negative and si_value < 0:
        raise BadValue(where, f"{value!r} is below {never_negative[kind]}", f"a possible {kind}")
    return si_value


def _example(kind: Dimension, default: Unit) -> str:
    return f"a {kind} such as '{f'1.5 {default.name}'.rstrip()}'"


def _listed(names: list[str]) -> str:
    return " or ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
