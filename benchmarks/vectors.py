"""Random calls and what Python makes of them: `python -m benchmarks.vectors FOLDER [COUNT]`.

The field app works out belief and next step by itself. These vectors hold it to the same answers:
compiled calls as the phone takes them along, and for each of many random trails

* the belief after every act that bears on it: the share of every world (in ``shares.bin``, eight
  bytes a number), conflict, questions and verdict; at the end what every check would tell;
* the guide of the whole trail, and of one earlier moment of some: shares, the chosen steps with
  their costs, and the rest.

The same seed gives the same trails. ``vectors.json`` names the files beside it, ``catalog.json`` is
their catalog.
"""

import json
import random
import sys
from array import array
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from benchmarks.random_calls import BEGINNING, Teller
from catchpan.calls.body import Body, ProofDone, ReadingTaken, RepairDone
from catchpan.calls.carried.carried_call import carried_call
from catchpan.calls.carried.catalog_file import catalog_file
from catchpan.calls.event import Event, to_record
from catchpan.calls.expected import healthy_reading
from catchpan.calls.guide import SIZE, Guide, guide
from catchpan.calls.loading import cost_range, load_list
from catchpan.calls.progress import Progress
from catchpan.calls.proving import limits_words, todays_proof
from catchpan.calls.trail import Trail, fold
from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.inference.belief import Belief
from catchpan.diagnosis.inference.conflict import Conflict, find_conflict
from catchpan.diagnosis.inference.questioned import questions
from catchpan.diagnosis.inference.telling import told_bits
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.diagnosis.planning.practice import practice_of
from catchpan.diagnosis.worlds.compile_family import Costs, Size
from catchpan.diagnosis.worlds.compiled import FamilyShelf, compiled, family_key
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family

COUNT: Final = 500
SEED: Final = 20250704
SMALL: Final = Size(settings=1, pairs=100)
MEDIUM: Final = Size(settings=3, pairs=300)


@dataclass(frozen=True)
class System:
    """What some trails are about, how much of its family is kept, and their share of all."""

    description: Description
    size: Size
    share: float


SYSTEMS: Final = (
    System(Description("air-conditioner-furnace", season="heating", age_years=12.5), SMALL, 0.25),
    System(Description("heat-pump-air-handler", {"location": "attic"}, "cooling"), MEDIUM, 0.25),
    System(
        Description("air-conditioner-air-handler", season="cooling", climate="humid"), SMALL, 0.2
    ),
    System(Description("air-conditioner-condensing-furnace"), SMALL, 0.2),
    System(Description("heat-pump-air-handler", season="cooling"), SIZE, 0.1),
)
"""The last one is kept as large as on a call."""

EARLIER: Final = 0.25
"""Share of the trails whose guide is kept at an earlier moment as well."""


def belief_of(found: Belief) -> dict[str, Any]:
    """Return what a belief says, apart from the share of every world."""
    return {
        "verdict": found.verdict,
        "unmapped": found.unmapped,
        "conflict": _conflict(find_conflict(found)),
        "questions": [[q.text, list(q.checks)] for q in questions(found)],
    }


def _conflict(conflict: Conflict | None) -> dict[str, Any] | None:
    if conflict is None:
        return None
    return {
        "misfit": conflict.misfit,
        "expected": conflict.expected,
        "suspects": [[s.reading.check_id, s.relief, s.surprise] for s in conflict.suspects],
        "repeat": conflict.repeat.reading.check_id if conflict.repeat else None,
    }


def expected(found: Guide) -> dict[str, Any]:
    """Return what the guide of a trail holds, as far as the field app reckons it itself."""
    causes = found.causes
    return {
        "phase": found.phase,
        "roots": {s.id: s.probability for s in causes.roots},
        "consequences": {s.id: s.probability for s in causes.consequences},
        "parts": {s.id: s.probability for s in found.parts},
        "no_fault": causes.no_fault,
        "other": causes.other,
        "several": causes.several,
        "leading": causes.leading.id,
        "verdict": found.belief.verdict,
        "unmapped": found.belief.unmapped,
        "latents": {d.id: d.share for d in found.latents},
        "steps": [
            {
                "kind": step.kind,
                "target": step.target,
                "own_cost": step.own_cost,
                "cost_after": step.cost_after,
                "first": list(step.first),
                "forecasts": [
                    [f.outcome_id, f.probability, f.leading, f.share] for f in step.forecasts
                ],
            }
            for step in found.plan.steps
        ],
        "repair_now": found.plan.repair_now,
        "ahead": asdict(cost_range(found)),
        "load": [[item.kind, item.name, item.chance] for item in load_list(found)],
        "conflict": _conflict(found.conflict),
        "dangers": [r.check_id for r in found.dangers],
        "situation": _situation(found),
        "minutes": found.spent.minutes,
        "parts_dollars": found.spent.parts_dollars,
        "mended": [[m.repair_id, m.outcome] for m in found.mended],
        "unused": list(found.unused),
        "healthy": {c: healthy_reading(found, c) for c in _shown(found)},
        "limits": {
            name: limits_words(todays_proof(found, name))
            for name, entry in found.data.proofs.items()
            if entry.observe.quantity == "cycle" and entry.observe.demand in found.belief.views
        },
        "targets": {demand: _targets(found, demand) for demand in found.belief.views},
    }


def _targets(found: Guide, demand: str) -> list[dict[str, Any]] | None:
    """Return today's targets as shown, quantity by quantity; None where there are none."""
    todays = found.targets(demand)
    return None if todays is None else [asdict(one) for one in todays.judged]


def _shown(found: Guide) -> list[str]:
    """Return the checks whose sound reading is told to the letter: words, and the circuit's."""
    checks = found.family.checks.values()
    words = [c.id for c in checks if c.numeric is None and not c.proof]
    return [c.id for c in checks if c.look is not None] + words[::8]


def _situation(found: Guide) -> dict[str, Any]:
    fields = vars(found.situation)
    return {k: sorted(v) if isinstance(v, frozenset) else v for k, v in fields.items()}


@dataclass
class Numbers:
    """Long lists of numbers, kept in one file of eight bytes each."""

    held: "array[float]" = field(default_factory=lambda: array("d"))

    def add(self, values: Sequence[float] | NDArray[np.float64]) -> int:
        """Add a list; return the position of its first number."""
        at = len(self.held)
        self.held.extend(np.asarray(values, dtype=np.float64).tolist())
        return at


def acts_of(
    events: Sequence[Event], family: Family, data: Catalog
) -> Iterator[tuple[dict[str, Any], Belief]]:
    """Yield every act of a trail that bears on the belief, and the belief after it."""
    state = fold(Trail(events[0].call_id, tuple(events)))
    practice = practice_of(data, None)
    progress = Progress(family, data, practice)
    for entry in state.timeline:
        before = progress.job.belief
        progress.take(entry.body)
        after = progress.job.belief
        if after is not before:
            yield _act(entry.body, before, after, practice.puts_back), after


def _act(
    body: Body, before: Belief, after: Belief, puts_back: Mapping[str, frozenset[str]]
) -> dict[str, Any]:
    """Return what was done to a belief, in the words of the belief."""
    if isinstance(body, RepairDone):
        worked = {"worked": True, "did_not": False, "not_yet_known": None}[body.outcome]
        return {"repair": body.repair_id, "worked": worked}
    if isinstance(body, ProofDone) and body.proof_id == SYSTEM:
        return {"tried": body.result == "pass"}
    past = len(before.earlier) + len(before.readings)
    read = asdict((*after.earlier, *after.readings)[past])
    if isinstance(body, ProofDone):
        return {"read": read} | ({"tried": False} if body.result == "fail" else {})
    if isinstance(body, ReadingTaken) and body.check_id in puts_back:
        return {"read": read, "puts_back": sorted(puts_back[body.check_id])}
    return {"read": read}


class Vectors:
    """Random trails with all that Python makes of them."""

    def __init__(self, data: Catalog, shelf: FamilyShelf | None = None) -> None:
        self.data, self.shelf = data, shelf
        self.chance = random.Random(SEED)  # noqa: S311 - the same trails every time
        self.numbers = Numbers()

    def family(self, system: System) -> Family:
        """Return the family of a system."""
        return compiled(system.description, self.data, size=system.size, shelf=self.shelf)

    def trails(self, system: System, name: str, count: int) -> Iterator[dict[str, Any]]:
        """Tell random calls of a system; yield each with what it comes to."""
        family = self.family(system)
        for k in range(count):
            teller = Teller(self.chance, f"{name}-{k}", family, self.data, system.description)
            events = teller.whole_call()
            marks = [len(events)]
            if self.chance.random() < EARLIER:
                marks.insert(0, self.chance.randrange(1, len(events) + 1))
            acts = list(acts_of(events, family, self.data))
            told = told_bits(acts[-1][1] if acts else Belief.prior(family))
            yield {
                "compiled": f"compiled-{name}.bin",
                "events": [to_record(e) for e in events],
                "acts": [self._with_belief(act, after) for act, after in acts],
                "told": {"checks": list(told), "at": self.numbers.add(list(told.values()))},
                "guides": [self._guide(events[:mark], family) for mark in marks],
            }

    def _with_belief(self, act: Mapping[str, Any], after: Belief) -> dict[str, Any]:
        """Return an act with what the belief says after it; its shares go to the numbers."""
        return {**act, **belief_of(after), "shares": self.numbers.add(after.probabilities())}

    def _guide(self, events: Sequence[Event], family: Family) -> dict[str, Any]:
        state = fold(Trail(events[0].call_id, tuple(events)))
        return {
            "events": len(events),
            "expect": expected(guide(state, self.data, lambda _: family)),
        }


def write_vectors(
    folder: Path,
    count: int = COUNT,
    systems: Sequence[System] = SYSTEMS,
    shelf: FamilyShelf | None = None,
) -> Path:
    """Write compiled calls and trails into a folder; return the file that names them."""
    folder.mkdir(parents=True, exist_ok=True)
    data = catalog()
    vectors, told = Vectors(data, shelf), []
    for number, system in enumerate(systems):
        family, name = vectors.family(system), f"{number}"
        key = family_key(system.description, data, Costs(), system.size)
        content = carried_call(system.description, family, data, key, BEGINNING)
        (folder / f"compiled-{name}.bin").write_bytes(content)
        told += list(vectors.trails(system, name, round(system.share * count)))
    (folder / "catalog.json").write_text(json.dumps(catalog_file(data), allow_nan=False))
    (folder / "shares.bin").write_bytes(vectors.numbers.held.tobytes())
    target = folder / "vectors.json"
    target.write_text(json.dumps({"seed": SEED, "trails": told}, allow_nan=False))
    return target


def main(words: list[str]) -> None:
    """Write the vectors into the folder named on the command line."""
    target = write_vectors(Path(words[0]), int(words[1]) if len(words) > 1 else COUNT)
    print(f"{target}: {len(json.loads(target.read_text())['trails'])} trails")


if __name__ == "__main__":
    main(sys.argv[1:])
