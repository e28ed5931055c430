"""What an evacuated, shut-off circuit tells while its vacuum is watched."""

from enum import Enum
from typing import Final

from catchpan.units.errors import BadValue
from catchpan.units.span import within

MICRON_PA: Final = 0.133322368
"""One micron of mercury [Pa]."""

GOOD_PA: Final = 1000.0 * MICRON_PA
MOIST_PA: Final = 2000.0 * MICRON_PA
"""Below the first after ten minutes it is tight and dry; from the second on it leaks.
Source: distributors' notes; the maker's own limit, where there is one, is stricter and stands."""

LEAST_WATCH_S: Final = 600.0


class Vacuum(Enum):
    """What the rise of a vacuum means."""

    TIGHT = "tight and dry"
    MOISTURE = "moisture, or a small leak: it levels off below the pressure of wet air"
    LEAK = "a leak: it goes on rising"


def vacuum_after(final_pa: float, watched_s: float, maker_limit_pa: float | None = None) -> Vacuum:
    """Say what the pressure means at the end of a decay test.

    Parameters
    ----------
    final_pa : float
        Absolute pressure at the end [Pa], 0 to 1e5.
    watched_s : float
        How long the pump was shut off [s]; ten minutes at least, or what the maker asks.
    maker_limit_pa : float, optional
        The maker's own limit [Pa]; the stricter one holds.

    Returns
    -------
    Vacuum
        The verdict.

    Raises
    ------
    OutOfRange
        If a pressure is none.
    BadValue
        If it was watched for less than ten minutes.

    Examples
    --------
    >>> vacuum_after(900 * MICRON_PA, 600.0)
    <Vacuum.TIGHT: 'tight and dry'>

    Source: distributors' and makers' service notes.
    """
    final = float(within("vacuum", final_pa, 0.0, 1e5, "Pa"))
    if watched_s < LEAST_WATCH_S:
        raise BadValue("decay test", f"watched for {watched_s:g} s", "600 s or more")
    limit = GOOD_PA if maker_limit_pa is None else min(GOOD_PA, maker_limit_pa)
    if final <= limit:
        return Vacuum.TIGHT
    return Vacuum.MOISTURE if final < MOIST_PA else Vacuum.LEAK
