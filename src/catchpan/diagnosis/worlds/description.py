"""What is known about the system a call is about; everything may be unknown."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Season = Literal["cooling", "heating"]
Climate = Literal["humid", "dry", "cold", "mixed"]


@dataclass(frozen=True)
class Description:
    """One system as far as it is known.

    Parameters
    ----------
    archetype : str
        Which kind of system.
    options : mapping of str to str
        The options that are known; the others belong to the worlds.
    season : str or None
        Whether the call is about cooling or heating; None where the complaint does not say.
    age_years : float or None
        Age of the equipment.
    climate : str or None
        ``humid``, ``dry``, ``cold`` or ``mixed``.
    outdoor_c, indoor_c, indoor_rh : float
        Weather of the visit [degC, degC, 0 to 1].
    """

    archetype: str
    options: Mapping[str, str] = field(default_factory=dict)
    season: Season | None = None
    age_years: float | None = None
    climate: Climate | None = None
    outdoor_c: float | None = None
    indoor_c: float | None = None
    indoor_rh: float = 0.5
