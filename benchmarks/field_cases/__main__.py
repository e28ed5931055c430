"""Weigh every field case and write the page of results."""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path

from benchmarks.field_cases.peer import peers
from benchmarks.field_cases.report import Result, page
from benchmarks.field_cases.score import score_part
from benchmarks.field_cases.told import FieldCase, Part, field_cases
from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.worlds.compile_family import Size
from catchpan.diagnosis.worlds.compiled import compiled
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family


def main() -> None:
    """Print how each case came out and write ``RESULTS.md``."""
    data = catalog()
    cases = field_cases()
    found = {r.told.id: r for r in _results(cases, data)}
    text = page([found[c.id] for c in cases], data, datetime.now(tz=UTC).date())
    Path(__file__).with_name("RESULTS.md").write_text(text, encoding="utf-8")
    print(text)


def _results(cases: Sequence[FieldCase], data: Catalog) -> Iterator[Result]:
    """Score the cases, those about the same systems one after the other."""

    def family_of(description: Description, size: Size) -> Family:
        return compiled(description, data, size=size)

    for told in sorted(cases, key=lambda c: _systems(c, data)):
        scores = {part: score_part(told, part, data, family_of) for part in Part}
        result = Result(told, scores, peers(told, data, family_of))
        print(f"{told.id}: rank {scores[Part.TOLD].best}", flush=True)
        yield result


def _systems(told: FieldCase, data: Catalog) -> list[str]:
    return sorted(repr(d) for d, _ in told.case(Part.TOLD, data).systems)


if __name__ == "__main__":
    main()
