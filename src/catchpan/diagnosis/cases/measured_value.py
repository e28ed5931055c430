"""From what an instrument shows, with its unit, to the number a check is weighed with, and back.

The plant keeps numbers in SI with three exceptions, all visible in the names of its signals: a
temperature that ends in ``_c`` is in degrees Celsius, one that ends in ``_k`` is a difference, and
the flame signal is in microamperes.
"""

from dataclasses import dataclass
from typing import Final

from catchpan.catalog.entry import CheckEntry, ObserveEntry
from catchpan.units.errors import BadValue, OutOfRange
from catchpan.units.quantity import format_quantity, parse
from catchpan.units.unit import Dimension, find_units

ZERO_C_K: Final = 273.15
MICRO: Final = 1.0e-6

SENSIBLE: Final[dict[Dimension, tuple[float, float]]] = {
    Dimension.VOLTAGE: (0.0, 1000.0),
    Dimension.CURRENT: (0.0, 400.0),
    Dimension.RESISTANCE: (0.0, float("inf")),
    Dimension.CAPACITANCE: (0.0, 1.0e-3),
    Dimension.TEMPERATURE: (220.0, 700.0),
    Dimension.TEMPERATURE_DIFFERENCE: (-60.0, 150.0),
    Dimension.GAUGE_PRESSURE: (-101325.0, 6.0e6),
    Dimension.PRESSURE_DIFFERENCE: (-1.0e5, 6.0e6),
    Dimension.ABSOLUTE_PRESSURE: (0.0, 6.0e6),
    Dimension.POWER: (-1.0e5, 1.0e5),
    Dimension.VOLUME_FLOW: (0.0, 10.0),
    Dimension.LENGTH: (-100.0, 100.0),
    Dimension.TIME: (0.0, 4.0e9),
    Dimension.SHARE: (-1.0, 10.0),
    Dimension.FREQUENCY: (0.0, 1000.0),
}
"""What an instrument on a residential job can show at all [SI]; assumed, wide on purpose. Volts and
amperes are those of alternating current, which a meter shows without a sign."""

SENSIBLE_IN: Final[dict[str, tuple[float, float]]] = {"mV": (-1.0, 1.0), "µA": (0.0, 1.0e-3)}
"""The same for checks in units of small things [SI]: a thermocouple, the flame signal; assumed."""


@dataclass(frozen=True)
class Scale:
    """How a check's number is kept: its dimension, and ``kept = si * factor + offset``."""

    dimension: Dimension
    factor: float = 1.0
    offset: float = 0.0


def takes_a_number(check: CheckEntry) -> bool:
    """Whether the check may be answered with a measured value."""
    return bool(check.unit) and check.observe.quantity not in {"history", "reset", "option"}


def sensible(check: CheckEntry) -> tuple[float, float]:
    """Return what an instrument can show in a check at all [SI]."""
    wide = SENSIBLE.get(scale_of(check).dimension, (-1.0e12, 1.0e12))
    return SENSIBLE_IN.get(check.unit, wide)


def scale_of(check: CheckEntry) -> Scale:
    """Return how the number of a check is kept.

    Raises
    ------
    UnknownName
        When the check's unit is none.
    BadValue
        When the check takes no number.
    """
    if not takes_a_number(check):
        answers = ", ".join(a.id for a in check.answers)
        raise BadValue(check.id, "a number, but this check has answers", f"one of: {answers}")
    signal = check.observe.of if check.observe.quantity == "signal" else ""
    known = [unit.dimension for unit in find_units(check.unit)]
    if signal.endswith("_k") and Dimension.TEMPERATURE_DIFFERENCE in known:
        return Scale(Dimension.TEMPERATURE_DIFFERENCE)
    if signal.endswith("_c"):
        return Scale(Dimension.TEMPERATURE, offset=-ZERO_C_K)
    if known[0] is Dimension.CURRENT and signal.startswith("flame_sensor."):
        return Scale(Dimension.CURRENT, factor=1.0 / MICRO)
    return Scale(known[0])


def read_value(check: CheckEntry, value: str | float, unit: str = "", *, where: str = "") -> float:
    """Read a measured value as people give it.

    Parameters
    ----------
    check : CheckEntry
        What was measured.
    value : str or float
        A number, or text such as ``"24.1 V"`` or ``"OL"``.
    unit : str, optional
        The unit of a bare number; by default the check's own.
    where : str, optional
        The field, for the error.

    Returns
    -------
    float
        The number the belief is updated with; infinite for an over-limit resistance.

    Raises
    ------
    BadValue, UnknownName, OutOfRange
        For words, a unit of something else, or what no instrument on such a job shows.
    """
    scale = scale_of(check)
    si = parse(value, scale.dimension, unit or check.unit, where=where)
    low, high = sensible(check)
    if not low <= si <= high:
        raise _outside(check, scale, si, where)
    return si * scale.factor + scale.offset


def as_modelled(
    observe: ObserveEntry, si: float, value: float | None, printed: float | None
) -> float:
    """Return a number as the modelled part would show it [SI].

    Where the maker prints what a part should read, a part with another print is judged by its
    share of that: 36 of 45 µF printed count as 32 of the modelled 40.

    Parameters
    ----------
    observe : ObserveEntry
        What was measured.
    si : float
        The number [SI].
    value, printed : float or None
        The number and what is printed, both in the unit they were entered in.
    """
    if observe.printed is None or printed is None or value is None:
        return si
    return value / printed * observe.printed


def weighed_as_it_is(check: CheckEntry) -> bool:
    """Whether a number of this check is weighed by its density, with the degrees of a fault known.

    So it is for the running circuit; elsewhere by the answer it falls in.
    """
    return check.observe.quantity == "cycle"


def answer_of_value(check: CheckEntry, kept: float) -> str:
    """Return the answer whose span a number falls in.

    A fault's size is one number in the plant but many in the field: a weak capacitor reads anything
    below its tolerance. The answers are drawn so that each means one thing; so a value is weighed
    by the answer it falls in, not by how near it is to the one size that was simulated.

    Parameters
    ----------
    check : CheckEntry
        A check whose answers cover the line.
    kept : float
        As returned by ``read_value``.

    Raises
    ------
    BadValue
        When no answer covers the number.
    """
    for answer in check.answers:
        above = answer.low is None or kept >= answer.low
        if above and (answer.high is None or kept < answer.high):
            return answer.id
    spans = ", ".join(f"{a.id} from {a.low} to {a.high}" for a in check.answers)
    raise BadValue(check.id, f"no answer covers {kept:g}", spans)


def write_value(check: CheckEntry, kept: float, digits: int = 1) -> str:
    """Write the number of a check for people, in the check's own unit."""
    scale = scale_of(check)
    si = (kept - scale.offset) / scale.factor
    return format_quantity(si, check.unit, digits, dimension=scale.dimension)


def _outside(check: CheckEntry, scale: Scale, si: float, where: str) -> OutOfRange:
    unit = next(u for u in find_units(check.unit) if u.dimension is scale.dimension)
    low, high = sensible(check)
    given, least, most = ((x - unit.zero_si()) / unit.scale() for x in (si, low, high))
    return OutOfRange(check.title, given, least, most, unit.name).at(where)
