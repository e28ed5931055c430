"""Readings of the running circuit inside a belief: taken together, by the panel of their demand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.worlds.panel_likelihood import SLIP, PanelView, Taken
from catchpan.diagnosis.worlds.panel_quantity import quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from catchpan.diagnosis.inference.belief import Reading
    from catchpan.diagnosis.worlds.family import CheckModel, Family

CALLER_SLIP: Final = 0.15
"""Chance that a caller's answer to a technician's check says nothing at all (assumed)."""


def is_of_panel(family: Family, reading: Reading) -> bool:
    """Whether a reading is a number read off the running circuit or its air."""
    check = family.checks[reading.check_id]
    value = reading.value_si
    return check.look is not None and value is not None and bool(np.isfinite(value))


def panel_views(
    family: Family, readings: Sequence[Reading], earlier: Sequence[Reading] = ()
) -> Mapping[str, PanelView]:
    """Return the panel of every demand after the readings.

    Parameters
    ----------
    readings
        Of the present stage.
    earlier
        Of former stages: of these the weather still holds, the circuit is another one since.
    """
    kept = [r for r in earlier if _is_weather(family, r)]
    now = [r for r in (*kept, *readings) if is_of_panel(family, r)]
    return {
        demand: PanelView.after(panel, _of_demand(family, now, demand))
        for demand, panel in family.panels.items()
    }


def todays_view(view: PanelView) -> PanelView:
    """Return the panel in the weather as known, without the readings of the circuit."""
    return PanelView(view.panel, (), view.weather)


def _is_weather(family: Family, reading: Reading) -> bool:
    look = family.checks[reading.check_id].look
    return look is not None and quantity(look.of).is_weather and is_of_panel(family, reading)


def _of_demand(family: Family, readings: Iterable[Reading], demand: str) -> list[Taken]:
    """Return what belongs to a demand, one value a check: of repeats their mean counts once."""
    by_check: dict[str, list[Reading]] = {}
    for reading in readings:
        look = family.checks[reading.check_id].look
        if look is not None and (look.demand == demand or quantity(look.of).is_weather):
            by_check.setdefault(reading.check_id, []).append(reading)
    return [_taken(family.checks[name], by_check[name]) for name in sorted(by_check)]


def _taken(check: CheckModel, repeats: Sequence[Reading]) -> Taken:
    if check.look is None:
        raise TypeError(f"{check.id} is not read off the panel")
    value = float(np.mean([r.value_si for r in repeats if r.value_si is not None]))
    own = [r.sd_si or 0.0 for r in repeats]
    spread = float(np.hypot(check.look.instrument_sd, np.mean(own)))
    told = any(r.reporter == "caller" for r in repeats) and not check.phone
    return Taken(check.look, value, spread, len(check.outcomes), CALLER_SLIP if told else SLIP)
