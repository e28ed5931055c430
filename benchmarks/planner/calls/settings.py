"""The systems, complaints and departures of the study."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from catchpan.catalog.system import options_of
from catchpan.diagnosis.rehearsal.departure import Departure
from catchpan.diagnosis.worlds.compile_family import Size
from catchpan.diagnosis.worlds.description import Description

if TYPE_CHECKING:
    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.worlds.description import Season

SIZE: Final = Size(settings=1, pairs=400)
"""How much of the family the planner keeps: less than on a call in the hand, so that it is fast."""

POOL: Final = Size(settings=1, pairs=2500)
"""How much of the family the hidden homes are drawn from."""

SAYS: Final = "yes"


@dataclass(frozen=True)
class Setting:
    """One kind of call: the system and what its owner complains of."""

    archetype: str
    complaint: str
    season: Season

    @property
    def name(self) -> str:
        """A name for files and tables."""
        return f"{self.archetype}.{self.complaint.split('/')[-1]}"

    def description(self, data: Catalog) -> Description:
        """Return the system with every option at its likeliest value, as a shop has it on file."""
        options = options_of(self.archetype, data)
        likeliest = {o: max(e.values, key=lambda v: v.prior).id for o, e in options.items()}
        return Description(self.archetype, likeliest, season=self.season)


ARCHETYPES: Final = (
    "air-conditioner-furnace",
    "heat-pump-air-handler",
    "air-conditioner-air-handler",
    "air-conditioner-condensing-furnace",
)

SETTINGS: Final = (
    *(Setting(a, "complaint/no-cooling", "cooling") for a in ARCHETYPES),
    *(Setting(a, "complaint/no-heat", "heating") for a in ARCHETYPES),
)
"""Four systems, and the complaint heard most in each season."""

DEPARTURES: Final = (
    Departure("none"),
    Departure("rates off by 0.5", prior_log_sd=0.5),
    Departure("rates off by 1", prior_log_sd=1.0),
    Departure("units differ", plant_log_sd=0.07, severity_log_sd=0.35),
    Departure("instruments biased", shared_bias=1.0),
    Departure("slips twice as often", slip_factor=2.0),
    Departure("a tenth of checks skipped", skipped=0.1, times_log_sd=0.3),
    Departure("repairs miss twice as often", repair_miss_factor=2.0),
    Departure("7.5 % outside the library", outside=0.075),
    Departure("three roots", three=1.0),
    Departure(
        "all together",
        prior_log_sd=0.5,
        plant_log_sd=0.07,
        severity_log_sd=0.35,
        shared_bias=1.0,
        slip_factor=2.0,
        skipped=0.1,
        times_log_sd=0.3,
        outside=0.075,
        three=0.03,
        repair_miss_factor=1.5,
    ),
)
"""How the homes depart from what the planner takes for true; ``all together`` is the headline."""

HEADLINE: Final = "all together"

OWN_TABLES: Final = "own tables"
"""The planner's own worlds and tables: a check of its arithmetic, not of its worth."""
