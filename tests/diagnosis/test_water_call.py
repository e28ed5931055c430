"""The call the tool is for: nothing works, and there is water on the ceiling.

That a plugged drain is then the first thing to think of, though a float switch stopped the unit, is
common practice of the trade, no source.
"""

from __future__ import annotations

from typing import Final

import pytest

from catchpan.catalog.load import catalog
from catchpan.catalog.system import options_of
from catchpan.diagnosis.cases.case import Case
from catchpan.diagnosis.cases.weigh import weigh
from catchpan.diagnosis.inference.belief import Reading
from catchpan.diagnosis.worlds.compile_family import Size
from catchpan.diagnosis.worlds.description import Description

SYSTEM: Final = "heat-pump-air-handler"
SPECIAL: Final = {"location": "attic", "drain": "gravity", "float_switch": "in_r"}
DRAIN: Final = {"pan"}
WET: Final = Reading("complaint/water-on-ceiling", "yes", reporter="caller")
NO_COOLING: Final = Reading("complaint/no-cooling", "yes", reporter="caller")
BLANK: Final = Reading("complaint/thermostat-blank", "blank", reporter="caller")


@pytest.fixture
def system(monkeypatch: pytest.MonkeyPatch) -> Description:
    small = Size(settings=1, pairs=60)
    monkeypatch.setattr("catchpan.diagnosis.cases.weigh.Size", lambda: small)
    monkeypatch.setattr("catchpan.diagnosis.cases.weigh.SMALL", small)
    usual = {
        name: max(option.values, key=lambda v: v.prior).id
        for name, option in options_of(SYSTEM, catalog()).items()
    }
    return Description(SYSTEM, usual | SPECIAL, "cooling", age_years=12.0)


def test_water_on_the_ceiling_and_no_cooling_lead_to_the_drain(system: Description) -> None:
    found = weigh(Case(((system, 1.0),), (NO_COOLING, WET)), steps=0)
    assert found.ranking[0].component in DRAIN
    assert sum(c.share for c in found.ranking if c.component in DRAIN) > 0.5


def test_with_a_blank_thermostat_hardly_anything_else_is_left(system: Description) -> None:
    """A float switch in R takes the thermostat's supply."""
    found = weigh(Case(((system, 1.0),), (BLANK, WET)), steps=0)
    assert sum(c.share for c in found.ranking if c.component in DRAIN) > 0.8
    assert found.none_of_these < 0.1
