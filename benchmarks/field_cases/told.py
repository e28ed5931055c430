"""The field cases: what was told, how it reads in the catalog's words, and what was the matter."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any, Final

import yaml

from catchpan.catalog.load import Catalog
from catchpan.diagnosis.cases.case import Case, case_from_text

FOLDER: Final = Path(__file__).parents[2] / "tests" / "cases"

GIVEN: Final = ("check", "answer", "by", "repair", "worked")
"""Fields of a reading that reach the program; the others are for the reader."""


class Part(StrEnum):
    """How much of a case is given to the program."""

    COMPLAINT = "complaint only"
    TOLD = "complaint and observations"
    DECISIVE = "with the decisive findings"


@dataclass(frozen=True)
class Truth:
    """Root faults that count as naming the cause; ``second`` where the cause names two faults."""

    found: frozenset[str]
    second: frozenset[str]
    left_behind: frozenset[str]
    parts: frozenset[str]

    @property
    def either(self) -> frozenset[str]:
        """Faults any of which counts as found."""
        return self.found | self.second


@dataclass(frozen=True)
class FieldCase:
    """One real call."""

    id: str
    record: Mapping[str, Any]
    system: Mapping[str, Any]
    readings: Sequence[Mapping[str, Any]]
    decisive: Sequence[Mapping[str, Any]]
    not_expressible: Sequence[Mapping[str, str]]
    truth: Truth

    @property
    def confirmed(self) -> bool:
        """Whether the writer reports the repair and that it worked."""
        return bool(self.record["confidence"] == "confirmed")

    def entries(self, part: Part) -> Iterator[dict[str, str]]:
        """Yield what is given to the program, in order."""
        told = [*self.readings, *(self.decisive if part is Part.DECISIVE else ())]
        for reading in told:
            outside = part is Part.COMPLAINT and reading["said"] != self.record["complaint"]
            if not outside and not reading.get("restates"):
                yield {k: v for k, v in reading.items() if k in GIVEN}

    def text(self, part: Part) -> str:
        """Return the case file the program is given."""
        given = {"schema": 1, "system": self.system, "readings": list(self.entries(part))}
        return json.dumps(given, ensure_ascii=False)

    def case(self, part: Part, data: Catalog) -> Case:
        """Return the case as the program reads it; raises BrokenCase."""
        return case_from_text(self.text(part), self.id, data)


def field_cases() -> tuple[FieldCase, ...]:
    """Read all field cases, in the order of their file."""
    lines = (FOLDER / "field_cases.jsonl").read_text(encoding="utf-8").splitlines()
    readings = _yaml("field_readings.yaml")
    truths = _yaml("field_truth.yaml")
    return tuple(
        _field_case(record, readings[record["id"]], truths[record["id"]])
        for record in map(json.loads, lines)
    )


def _yaml(name: str) -> Any:
    return yaml.safe_load((FOLDER / name).read_text(encoding="utf-8"))


def _field_case(
    record: Mapping[str, Any], mapped: Mapping[str, Any], truth: Mapping[str, Any]
) -> FieldCase:
    return FieldCase(
        id=record["id"],
        record=record,
        system=mapped["system"],
        readings=mapped["readings"],
        decisive=mapped.get("decisive", []),
        not_expressible=mapped.get("not_expressible", []),
        truth=Truth(
            found=frozenset(truth["found"]),
            second=frozenset(truth.get("second", ())),
            left_behind=frozenset(truth.get("left_behind", ())),
            parts=frozenset(truth["parts"]),
        ),
    )


def expressible_share(cases: Sequence[FieldCase]) -> float:
    """Share of all observations that the catalog's words can say, 0 to 1."""
    said = sum(len(c.record["observations"]) for c in cases)
    lost = sum(
        entry["said"] in c.record["observations"] for c in cases for entry in c.not_expressible
    )
    return 1.0 - lost / said
