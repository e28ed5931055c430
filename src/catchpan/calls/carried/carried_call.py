"""Putting a compiled call together: one part after the other, each made by a module of its own."""

from __future__ import annotations

from dataclasses import asdict
from importlib.metadata import version
from typing import TYPE_CHECKING, Any

from catchpan.calls.carried.charts_part import charts_part
from catchpan.calls.carried.checks_part import checks_part
from catchpan.calls.carried.constants_part import constants_part
from catchpan.calls.carried.container import Parts, write_parts
from catchpan.calls.carried.ladders_part import ladders_part
from catchpan.calls.carried.latents_part import latents_part
from catchpan.calls.carried.panels_part import panels_part
from catchpan.calls.carried.targets_part import targets_part
from catchpan.calls.carried.work_part import work_part
from catchpan.calls.carried.worlds_part import worlds_part
from catchpan.calls.event import utc_text
from catchpan.diagnosis.worlds.compiled import catalog_hash

if TYPE_CHECKING:
    from datetime import datetime

    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.worlds.description import Description
    from catchpan.diagnosis.worlds.family import Family


def carried_call(
    description: Description, family: Family, data: Catalog, key: str, made_at_utc: datetime
) -> bytes:
    """Return a compiled call as the file a phone takes along.

    Parameters
    ----------
    description : Description
        What the family was compiled from.
    family : Family
        The compiled worlds.
    data : Catalog
        The catalog they were compiled with.
    key : str
        What the family is kept under.
    made_at_utc : datetime
        The present moment.
    """
    parts = Parts()
    parts.add(
        {
            "key": key,
            "catalog": catalog_hash(data),
            "program": version("catchpan"),
            "made_at_utc": utc_text(made_at_utc),
            "description": described(description),
        },
        {},
    )
    parts.add(*worlds_part(family))
    parts.add(*checks_part(family))
    parts.add(*panels_part(family))
    parts.add(charts_part(family), {})
    parts.add(*targets_part(description, family, data))
    parts.add(work_part(family, data), {})
    parts.add(latents_part(description, data), {})
    parts.add(*ladders_part(description, family, data))
    parts.add(constants_part(), {})
    return write_parts(parts)


def described(description: Description) -> dict[str, Any]:
    """Return a description as JSON values."""
    return {**asdict(description), "options": dict(description.options)}
