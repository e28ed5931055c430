"""Ratings of wires and breakers for air-conditioning equipment.

The nameplate's own figures come first where there are any. Codes are adopted and amended
locally: check before relying on them.
"""

from collections.abc import Sequence
from typing import Final

from catchpan.units.errors import OutOfRange, UnknownName
from catchpan.units.span import within

STANDARD_BREAKERS_A: Final = (
    *(15, 20, 25, 30, 35, 40, 45, 50, 60, 70),
    *(80, 90, 100, 110, 125, 150, 175, 200),
)
"""Standard ratings of fuses and breakers [A] (NEC 240.6(A), from memory)."""

COPPER_AMPACITY_A: Final[dict[int, tuple[int, int, int]]] = {
    14: (15, 20, 25),
    12: (20, 25, 30),
    10: (30, 35, 40),
    8: (40, 50, 55),
    6: (55, 65, 75),
    4: (70, 85, 95),
    3: (85, 100, 115),
    2: (95, 115, 130),
    1: (110, 130, 145),
}
"""Ampacity of copper by gauge at 60, 75 and 90 C terminals [A] (NEC table 310.16, from memory)."""

_COLUMNS: Final = {60: 0, 75: 1, 90: 2}


def minimum_circuit_ampacity_a(motor_currents_a: Sequence[float]) -> float:
    """Return the least ampacity of the wires to a unit with one or more motors.

    Parameters
    ----------
    motor_currents_a : sequence of float
        Rated load or branch-circuit selection currents of all motors [A], each 0 to 500.

    Returns
    -------
    float
        125 % of the largest plus the others [A].

    Raises
    ------
    OutOfRange
        If there is no motor or a current is outside its span.

    Examples
    --------
    >>> minimum_circuit_ampacity_a([20.0, 2.5])
    27.5

    Source: NEC 440.32 and 440.33.
    """
    largest, total = _currents(motor_currents_a)
    return 0.25 * largest + total


def largest_breaker_a(motor_currents_a: Sequence[float], *, hard_start: bool = False) -> int:
    """Return the largest standard breaker or fuse for such a unit.

    Parameters
    ----------
    motor_currents_a : sequence of float
        Rated load or branch-circuit selection currents of all motors [A], each 0 to 500.
    hard_start : bool, optional
        Whether the compressor does not start on the usual 175 %, so that 225 % applies.

    Returns
    -------
    int
        Next standard size at or below 175 % (225 %) of the largest plus the others [A]. Never go
        above the nameplate.

    Raises
    ------
    OutOfRange
        If there is no motor, a current is outside its span, or no standard size is small enough.

    Source: NEC 440.22(A) and (B); rounding down as in the trade press's worked examples.
    """
    largest, total = _currents(motor_currents_a)
    limit = total + (1.25 if hard_start else 0.75) * largest
    fitting = [size for size in STANDARD_BREAKERS_A if size <= limit + 1e-9]
    if not fitting:
        raise OutOfRange("overcurrent limit", limit, STANDARD_BREAKERS_A[0], 1e3, "A")
    return fitting[-1]


def least_copper_awg(ampacity_a: float, terminal_c: int = 60) -> int:
    """Return the thinnest copper wire that carries a current.

    Parameters
    ----------
    ampacity_a : float
        Current to be carried [A], 0 to the table's end.
    terminal_c : int, optional
        Temperature rating of the terminals [C]: 60, 75 or 90.

    Returns
    -------
    int
        Gauge number [AWG]; not corrected for hot attics or bundles.

    Raises
    ------
    UnknownName
        If the table has no such column.
    OutOfRange
        If the current is beyond the table.

    Source: NEC table 310.16 (from memory).
    """
    if terminal_c not in _COLUMNS:
        raise UnknownName("terminal rating", str(terminal_c), map(str, _COLUMNS))
    column = _COLUMNS[terminal_c]
    most = max(row[column] for row in COPPER_AMPACITY_A.values())
    need = float(within("ampacity", ampacity_a, 0.0, float(most), "A"))
    return next(awg for awg, row in COPPER_AMPACITY_A.items() if row[column] >= need)


def rated_load_from_maximum_a(maximum_continuous_a: float, factor: float = 1.56) -> float:
    """Return a compressor's rated load current from its maximum continuous current.

    Parameters
    ----------
    maximum_continuous_a : float
        Current at which its protector trips [A], 0 to 500.
    factor : float, optional
        1.56, or 1.4 with some makers; 1.2 to 1.7.

    Returns
    -------
    float
        Rated load current [A]: a rating, not a target for the running current.

    Raises
    ------
    OutOfRange
        If an input is outside its span.

    Source: trade press; common practice.
    """
    current = float(within("maximum continuous current", maximum_continuous_a, 0.0, 500.0, "A"))
    return current / float(within("rating factor", factor, 1.2, 1.7, ""))


def _currents(motor_currents_a: Sequence[float]) -> tuple[float, float]:
    if not motor_currents_a:
        raise OutOfRange("number of motors", 0, 1, 20, "")
    checked = [float(within("motor current", each, 0.0, 500.0, "A")) for each in motor_currents_a]
    return max(checked), sum(checked)
