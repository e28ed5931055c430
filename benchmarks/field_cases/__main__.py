"""Weigh every field case and write the page of results.

Families know only the checks that some case uses: what nobody reads changes no share, and compiling
takes a third of the time. ``--small`` keeps fewer joint settings and pairs as well and leaves out
age, weather and location, so that a dozen families serve all cases: for a machine that is busy. The
page says so.
"""

import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from benchmarks.field_cases.peer import peers
from benchmarks.field_cases.report import Result, page
from benchmarks.field_cases.score import bare, score_part
from benchmarks.field_cases.told import FieldCase, Part, field_cases
from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.worlds.compile_family import Size, compile_family
from catchpan.diagnosis.worlds.compiled import compiled
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family

FEWER: Final = Size(settings=3, pairs=300)


def main() -> None:
    """Print how each case came out and write ``RESULTS.md``."""
    data = catalog()
    cases = field_cases()
    size = FEWER if "--small" in sys.argv[1:] else None
    found = {r.told.id: r for r in _results(cases, _used(data, cases), size)}
    text = page([found[c.id] for c in cases], data, datetime.now(tz=UTC).date(), size)
    Path(__file__).with_name("RESULTS.md").write_text(text, encoding="utf-8")
    print(text)


def _used(data: Catalog, cases: Sequence[FieldCase]) -> Catalog:
    """Return the catalog with the checks the cases use and no proofs."""
    used = {entry.get("check") for told in cases for entry in told.entries(Part.DECISIVE)}
    checks = {name: check for name, check in data.checks.items() if name in used}
    return replace(data, checks=checks, proofs={})


def _results(cases: Sequence[FieldCase], data: Catalog, smaller: Size | None) -> Iterator[Result]:
    """Score the cases, those about the same systems one after the other."""
    kept: dict[str, Family] = {}

    def family_of(description: Description, size: Size) -> Family:
        if smaller is None:
            return compiled(description, data, size=size)
        known = bare(description)
        if repr(known) not in kept:
            kept[repr(known)] = compile_family(known, data, size=smaller)
        return kept[repr(known)]

    for told in sorted(cases, key=lambda c: _systems(c, data)):
        scores = {part: score_part(told, part, data, family_of) for part in Part}
        result = Result(told, scores, peers(told, data, family_of))
        print(f"{told.id}: rank {scores[Part.TOLD].best}", flush=True)
        yield result


def _systems(told: FieldCase, data: Catalog) -> list[str]:
    return sorted(repr(d) for d, _ in told.case(Part.TOLD, data).systems)


if __name__ == "__main__":
    main()
