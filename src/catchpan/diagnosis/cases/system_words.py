"""From a few words about a system to the kinds of system they can mean."""

import re
from typing import Final

from catchpan.catalog.load import Catalog
from catchpan.catalog.system import archetype

SPEAKS_FOR: Final[dict[str, frozenset[str]]] = {
    r"heat ?-?pumps?|dual fuel": frozenset({"outdoor_heat_pump"}),
    r"high[ -]efficiency|condensing|plastic (pipe|vent|flue)|pvc (pipe|vent|flue)|9\d ?%": (
        frozenset({"furnace_drain"})
    ),
    r"pilot|metal (flue|vent)|80 ?%": frozenset({"ignition_either"}),
    r"furnace|gas|propane|burner": frozenset({"furnace"}),
    r"air handler|electric (heat|strips?)|heat strips?|all[ -]electric": frozenset({"air_handler"}),
}
"""Words, as a pattern, and the piece an archetype must hold where they stand (common practice)."""

NO_HEAT_PUMP: Final = re.compile(r"\b(air condition|a/?c\b|straight cool)", re.IGNORECASE)


def fitting_archetypes(text: str, data: Catalog) -> tuple[str, ...]:
    """Return the archetypes a few words can mean.

    Parameters
    ----------
    text : str
        Such as "split AC, furnace in the basement"; empty means nothing is known.
    data : Catalog
        Holds the archetypes.

    Returns
    -------
    tuple of str
        At least one. Words that exclude each other count for nothing.

    Examples
    --------
    >>> from catchpan.catalog.load import catalog
    >>> fitting_archetypes("all-electric heat pump", catalog())
    ('heat-pump-air-handler',)
    """
    every = tuple(data.archetypes)
    fitting = list(every)
    for pattern, pieces in SPEAKS_FOR.items():
        if re.search(rf"\b({pattern})", text, re.IGNORECASE):
            narrowed = [k for k in fitting if pieces <= set(archetype(k, data).pieces)]
            fitting = narrowed or fitting
    if NO_HEAT_PUMP.search(text) and not re.search("heat ?-?pump", text, re.IGNORECASE):
        cooling = [k for k in fitting if "outdoor_heat_pump" not in archetype(k, data).pieces]
        fitting = cooling or fitting
    return tuple(fitting)
