"""What was said of the causes of real calls that other people wrote about, and what they were."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Final

from benchmarks.field_cases.score import score_part
from benchmarks.field_cases.told import FieldCase, Part, field_cases
from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.worlds.compile_family import Size, compile_family
from catchpan.diagnosis.worlds.description import Description

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from catchpan.diagnosis.worlds.family import Family

KEPT: Final = Size(settings=3, pairs=60)
"""How much is kept of each system, so that all cases are weighed in minutes."""

FILE: Final = "field.json"


def weigh_field_cases(folder: Path) -> None:
    """Write, for the first three causes of every field case, its share and whether it was so.

    From the complaint and the observations; what tells the cause is not given.
    """
    found = {told.id: list(_said(told)) for told in field_cases()}
    folder.mkdir(parents=True, exist_ok=True)
    (folder / FILE).write_text(json.dumps(found), encoding="utf-8")


def field_forecasts(folder: Path, *, leading: bool) -> list[tuple[float, bool]]:
    """Return what was written: of the leading cause only, or of the first three."""
    if not (folder / FILE).exists():
        return []
    found = json.loads((folder / FILE).read_text(encoding="utf-8"))
    return [(p, ok) for said in found.values() for p, ok in (said[:1] if leading else said)]


def _said(told: FieldCase) -> Iterator[tuple[float, bool]]:
    found = score_part(told, Part.TOLD, _data(), _family)
    for name, share in found.top:
        yield min(share, 1.0), name in told.truth.either


@cache
def _data() -> Catalog:
    """Return the catalog with the checks the cases use and no proofs."""
    whole = catalog()
    used = {e.get("check") for told in field_cases() for e in told.entries(Part.DECISIVE)}
    checks = {name: c for name, c in whole.checks.items() if name in used}
    return replace(whole, checks=checks, proofs={})


_families: dict[str, Family] = {}


def _family(description: Description, _size: Size) -> Family:
    """Compile without what changes rates alone, so that few families serve all cases."""
    options = {k: v for k, v in description.options.items() if k != "location"}
    pump = description.archetype.startswith("heat-pump")
    season = description.season or ("heating" if pump else "cooling")
    bare = Description(description.archetype, options, season=season)
    if repr(bare) not in _families:
        _families[repr(bare)] = compile_family(bare, _data(), size=KEPT)
    return _families[repr(bare)]
