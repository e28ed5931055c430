"""Random calls and what Python makes of them: `python -m benchmarks.vectors FOLDER [COUNT]`.

The field app works out belief and next step by itself. These vectors hold it to the same answers:
compiled calls as the phone takes them along, the events of many random trails, and for each trail
every share, the chosen steps with their costs, and the rest of the guide. The same seed gives the
same trails. `FOLDER/vectors.json` names the files beside it, `catalog.json` is their catalog.
"""

import json
import random
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from catchpan.calls.carried.carried_call import carried_call
from catchpan.calls.carried.catalog_file import catalog_file
from catchpan.calls.event import Event, to_record
from catchpan.calls.guide import Guide, guide
from catchpan.calls.trail import Trail, fold
from catchpan.catalog.entry import CheckEntry
from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.cases.measured_value import scale_of, takes_a_number
from catchpan.diagnosis.worlds.compile_family import Costs, Size
from catchpan.diagnosis.worlds.compiled import compiled, family_key
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import CheckModel, Family
from catchpan.units.unit import find_units

COUNT: Final = 500
SEED: Final = 20250704
SMALL: Final = Size(settings=1, pairs=100)
MEDIUM: Final = Size(settings=3, pairs=400)
SYSTEMS: Final = (
    (Description("heat-pump-air-handler", {"location": "attic"}, season="cooling"), MEDIUM, 0.10),
    (Description("air-conditioner-furnace", season="heating", age_years=12.5), SMALL, 0.30),
    (Description("air-conditioner-air-handler", season="cooling", climate="humid"), SMALL, 0.30),
    (Description("air-conditioner-condensing-furnace"), SMALL, 0.30),
)
"""What the trails are about, how much of its family is kept, and its share of the trails."""

BEGINNING: Final = datetime(2025, 7, 4, 12, 0, tzinfo=UTC)
DEVICES: Final = ("phone-a", "phone-b")
MISTAKES: Final = 0.15
"""Share of readings that have nothing to do with what is wrong, so that some conflict."""


@dataclass
class Teller:
    """Tells a random call: a hidden world answers, with mistakes."""

    chance: random.Random
    call_id: str
    family: Family
    data: Catalog
    description: Description
    events: list[Event] = field(default_factory=list)
    on_site: bool = False

    def __post_init__(self) -> None:
        weights = [float(x) for x in self.family.log_prior]
        top = max(weights)
        shares = [2.718281828459045 ** (x - top) for x in weights]
        self.world = self.chance.choices(range(len(shares)), shares)[0]

    def tell(self, kind: str, **body: object) -> str:
        """Add one event of either device."""
        device = self.chance.choices(DEVICES, (0.8, 0.2))[0]
        number = len(self.events) + 1
        event = Event(
            id=f"{self.call_id}.{number}",
            call_id=self.call_id,
            device_id=device,
            seq=1 + sum(e.device_id == device for e in self.events),
            lamport=number,
            at_utc=BEGINNING + timedelta(minutes=number),
            kind=kind,
            body=body,  # type: ignore[arg-type]
        )
        self.events.append(event)
        return event.id

    def whole_call(self) -> list[Event]:
        """Tell a call and return its events."""
        known = self.description
        site = {k: v for k in ("season", "age_years", "climate") if (v := getattr(known, k))}
        self.tell("call_opened", archetype=known.archetype, site=site)
        if known.options:
            self.tell("system_described", settings=dict(known.options))
        for _ in range(self.chance.randrange(6)):
            self.read(self.some_check(on_phone=True), "caller")
        if self.chance.random() < 0.8:
            self.visit()
        return self.events

    def visit(self) -> None:
        """Tell what happens on site."""
        self.tell("went_to", place="site")
        self.on_site = True
        for _ in range(self.chance.randrange(12)):
            act = self.chance.choices(
                (self.look, self.walk, self.put_off, self.switch, self.mend, self.prove, self.undo),
                (60, 8, 6, 4, 12, 6, 4),
            )[0]
            act()

    def look(self) -> None:
        """Take a reading on site."""
        self.read(self.some_check(on_phone=False), "technician")

    def walk(self) -> None:
        """Go somewhere."""
        self.tell("went_to", place=self.chance.choice(sorted(self.family.places)))

    def put_off(self) -> None:
        """Put a check off."""
        self.tell("step_deferred", step_id=self.some_check(on_phone=False).id, reason="not now")

    def switch(self) -> None:
        """Switch the power."""
        self.tell("power_set", where="disconnect", on=self.chance.random() < 0.5)

    def mend(self) -> None:
        """Repair something, likelier what is wrong than not."""
        wrong = self.family.worlds[self.world].conditions
        fitting = [r.id for r in self.family.repairs.values() if r.fixes & wrong]
        pool = fitting if fitting and self.chance.random() < 0.7 else sorted(self.family.repairs)
        outcome = self.chance.choice(("worked", "did_not", "not_yet_known"))
        self.tell("repair_done", repair_id=self.chance.choice(pool), outcome=outcome)

    def prove(self) -> None:
        """Prove something."""
        proofs = [c.id for c in self.family.checks.values() if c.proof]
        result = self.chance.choices(("pass", "fail", "too_close"), (6, 3, 1))[0]
        name = "system" if self.chance.random() < 0.5 else self.chance.choice(proofs)
        self.tell("proof_done", proof_id=name, result=result)

    def undo(self) -> None:
        """Take an event back, at times one that took back another."""
        target = self.chance.choice(self.events[1:] or self.events)
        if target.kind != "call_opened":
            self.tell("withdrawn", event_id=target.id)

    def some_check(self, *, on_phone: bool) -> CheckModel:
        """Return a check; at times one that this system does not have is read elsewhere."""
        fitting = [c for c in self.family.checks.values() if not c.proof]
        if on_phone:
            fitting = [c for c in fitting if c.phone]
        calm = [c for c in fitting if not any(o.danger for o in c.outcomes)]
        return self.chance.choice(calm if self.chance.random() < 0.95 else fitting)

    def read(self, check: CheckModel, reporter: str) -> None:
        """Tell what a check shows in the hidden world, or anything at all."""
        row = [float(x) for x in check.table[self.world]]
        random_one = self.chance.random() < MISTAKES
        answer = self.chance.choices(check.outcomes, None if random_one else row)[0]
        body: dict[str, object] = {"check_id": check.id, "reported_by": reporter}
        entry = self.data.checks[check.id]
        if takes_a_number(entry) and answer.id != "absent" and self.chance.random() < 0.7:
            body |= self.number(entry, answer.low, answer.high)
        else:
            body["answer"] = answer.id
        self.tell("reading_taken", **body)

    def number(self, entry: CheckEntry, low: float | None, high: float | None) -> dict[str, object]:
        """Return a number within a span, as it is entered."""
        scale = scale_of(entry)
        start = low if low is not None else (high or 0.0) - 10.0
        kept = self.chance.uniform(start, high if high is not None else start + 10.0)
        unit = next(u for u in find_units(entry.unit) if u.dimension is scale.dimension)
        si = (kept - scale.offset) / scale.factor
        value = (si - unit.zero_si()) / unit.scale()
        return {"value": value, "unit": unit.name, "si_value": si}


def expected(found: Guide) -> dict[str, Any]:
    """Return what the guide of a trail holds, as far as the field app reckons it itself."""
    family, chance = found.family, found.belief.probabilities()
    shares = chance @ family.membership
    causes = found.causes
    return {
        "phase": found.phase,
        "conditions": dict(zip(family.conditions, map(float, shares), strict=True)),
        "roots": {s.id: s.probability for s in causes.roots},
        "consequences": {s.id: s.probability for s in causes.consequences},
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
        "conflict": _conflict(found),
        "dangers": [r.check_id for r in found.dangers],
        "situation": _situation(found),
        "minutes": found.spent.minutes,
        "parts_dollars": found.spent.parts_dollars,
        "mended": [[m.repair_id, m.outcome] for m in found.mended],
        "unused": list(found.unused),
    }


def _conflict(found: Guide) -> dict[str, Any] | None:
    conflict = found.conflict
    if conflict is None:
        return None
    return {
        "misfit": conflict.misfit,
        "expected": conflict.expected,
        "suspects": [s.reading.check_id for s in conflict.suspects],
        "repeat": conflict.repeat.reading.check_id if conflict.repeat else None,
    }


def _situation(found: Guide) -> dict[str, Any]:
    fields = vars(found.situation)
    return {k: sorted(v) if isinstance(v, frozenset) else v for k, v in fields.items()}


def _always(family: Family) -> Callable[[Description], Family]:
    return lambda _: family


def trails(count: int, data: Catalog) -> Iterator[tuple[int, list[Event], Guide]]:
    """Tell random calls: the number of the system, the events, and the guide."""
    chance = random.Random(SEED)  # noqa: S311 - the same trails every time
    for system, (description, size, share) in enumerate(SYSTEMS):
        family = compiled(description, data, size=size)
        for k in range(round(share * count)):
            teller = Teller(chance, f"vector-{system}-{k}", family, data, description)
            events = teller.whole_call()
            state = fold(Trail(teller.call_id, tuple(events)))
            yield system, events, guide(state, data, _always(family))


def write_vectors(folder: Path, count: int = COUNT) -> Path:
    """Write compiled calls and trails into a folder; return the file that names them."""
    folder.mkdir(parents=True, exist_ok=True)
    data, files = catalog(), []
    for system, (description, size, _) in enumerate(SYSTEMS):
        family = compiled(description, data, size=size)
        key = family_key(description, data, Costs(), size)
        name = f"compiled-{system}.bin"
        content = carried_call(description, family, data, key, BEGINNING)
        (folder / name).write_bytes(content)
        files.append(name)
    (folder / "catalog.json").write_text(json.dumps(catalog_file(data), allow_nan=False))
    told = [
        {"compiled": files[system], "events": [to_record(e) for e in events], "expect": expected(g)}
        for system, events, g in trails(count, data)
    ]
    target = folder / "vectors.json"
    target.write_text(json.dumps({"seed": SEED, "trails": told}, allow_nan=False))
    return target


def main(words: list[str]) -> None:
    """Write the vectors into the folder named on the command line."""
    target = write_vectors(Path(words[0]), int(words[1]) if len(words) > 1 else COUNT)
    print(f"{target}: {len(json.loads(target.read_text())['trails'])} trails")


if __name__ == "__main__":
    main(sys.argv[1:])
