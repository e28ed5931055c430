"""Random calls: a hidden world answers what is read, with mistakes, repairs and undone words."""

import random
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Final

import numpy as np

from catchpan.calls.event import Event
from catchpan.catalog.load import Catalog
from catchpan.diagnosis.cases.measured_value import scale_of, takes_a_number
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import CheckModel, Family
from catchpan.units.unit import find_units

BEGINNING: Final = datetime(2025, 7, 4, 12, 0, tzinfo=UTC)
DEVICES: Final = ("phone-a", "phone-b")

MISTAKES: Final = 0.15
"""Share of readings that have nothing to do with what is wrong, so that some conflict."""

COMING_AND_GOING: Final = 0.2
"""Share of calls about something intermittent, whose readings contradict each other."""

NARROWER: Final = 0.4
"""How much of its spread a reading of the running circuit shows: they belong to one unit."""


@dataclass
class Teller:
    """Tells a random call of one family."""

    chance: random.Random
    call_id: str
    family: Family
    data: Catalog
    description: Description
    events: list[Event] = field(default_factory=list)

    def __post_init__(self) -> None:
        shares = np.exp(self.family.log_prior - self.family.log_prior.max())
        twofold = self.family.twin != np.arange(len(shares))
        if twofold.any() and self.chance.random() < COMING_AND_GOING:
            shares = shares * twofold
        self.world = self.chance.choices(range(len(shares)), shares.tolist())[0]

    def whole_call(self) -> list[Event]:
        """Tell a call and return its events."""
        known = self.description
        site = {k: v for k in ("season", "age_years", "climate") if (v := getattr(known, k))}
        self.tell("call_opened", archetype=known.archetype, site=site)
        if known.options:
            self.tell("system_described", settings=dict(known.options))
        for _ in range(self.chance.randrange(6)):
            self.read(self.some_check(on_phone=True), "caller")
        if self.chance.random() < 0.2:
            self.tell("step_deferred", step_id=self.some_check(on_phone=True).id, reason="asleep")
        if self.chance.random() < 0.85:
            self.visit()
        return self.events

    def visit(self) -> None:
        """Tell what happens on site."""
        self.tell("went_to", place="site")
        for _ in range(self.chance.randrange(14)):
            act = self.chance.choices(
                (self.look, self.measure, self.put_back, self.walk, self.put_off, self.switch,
                 self.mend, self.prove, self.undo),
                (34, 34, 8, 6, 5, 3, 12, 6, 4),
            )[0]  # fmt: skip
            act()

    def tell(self, kind: str, **body: object) -> None:
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

    def look(self) -> None:
        """Take a reading on site; at times the caller is asked there."""
        reporter = "caller" if self.chance.random() < 0.1 else "technician"
        self.read(self.some_check(on_phone=False), reporter)

    def measure(self) -> None:
        """Read the running circuit, at times twice and at times as an answer."""
        looks = [c for c in self.family.checks.values() if c.look is not None]
        if not looks:
            return
        for check in self.chance.sample(looks, min(self.chance.randrange(1, 4), len(looks))):
            if self.chance.random() < 0.15:
                self.read(check, "technician", numbers=False)
            else:
                self.on_circuit(check)

    def on_circuit(self, check: CheckModel) -> None:
        """Tell a value of the running circuit, with the instrument's spread at times."""
        numeric, world = check.numeric, self.state()
        if numeric is None:
            return
        spread = float(numeric.sd_si[world])
        wide = 4.0 if self.chance.random() < MISTAKES else NARROWER
        si = self.chance.gauss(float(numeric.mean_si[world]), wide * spread)
        own = spread * self.chance.choice((0.02, 0.1)) if self.chance.random() < 0.3 else None
        who = "caller" if self.chance.random() < 0.05 else "technician"
        body: dict[str, object] = {"check_id": check.id, "reported_by": who}
        if own is not None:
            body["si_sd"] = own
        self.tell("reading_taken", **body, **self.entered(check.id, si))

    def put_back(self) -> None:
        """Put something back, likelier what tripped than not, and watch."""
        resets = [c for c in self.family.checks.values() if c.outcome_index("trips-at-once")]
        if not resets:
            return
        weights = [0.02 + 1.0 - float(c.table[self.world, -1]) for c in resets]
        self.read(self.chance.choices(resets, weights)[0], "technician")

    def walk(self) -> None:
        """Go somewhere."""
        self.tell("went_to", place=self.chance.choice(sorted(self.family.places)))

    def put_off(self) -> None:
        """Put a check or a repair off."""
        some = self.chance.choice(sorted(self.family.repairs))
        check = self.some_check(on_phone=False).id
        step = some if self.chance.random() < 0.3 else check
        self.tell("step_deferred", step_id=step, reason="not now")

    def switch(self) -> None:
        """Switch the power."""
        self.tell("power_set", where="disconnect", on=self.chance.random() < 0.5)

    def mend(self) -> None:
        """Repair something, likelier what is wrong than not; it mostly comes out as it must."""
        wrong = self.family.worlds[self.world].conditions
        fitting = [r.id for r in self.family.repairs.values() if r.fixes & wrong]
        pool = fitting if fitting and self.chance.random() < 0.7 else sorted(self.family.repairs)
        repair = self.family.repairs[self.chance.choice(pool)]
        outcome = self.chance.choice(("worked", "did_not", "not_yet_known"))
        if self.chance.random() < 0.7:
            left = self.family.after_repair(self.world, repair.fixes)
            self.world = self.world if left is None else left
            outcome = "worked" if self.family.works[self.world] else "did_not"
        self.tell("repair_done", repair_id=repair.id, outcome=outcome)

    def prove(self) -> None:
        """Prove something, or run the system as a whole."""
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
        """Return a check that is no proof; hardly ever one whose answer may mean danger."""
        fitting = [c for c in self.family.checks.values() if not c.proof]
        if on_phone:
            fitting = [c for c in fitting if c.phone]
        calm = [c for c in fitting if not any(o.danger for o in c.outcomes)]
        return self.chance.choice(calm if self.chance.random() < 0.95 else fitting)

    def state(self) -> int:
        """Return the world as it shows just now: what comes and goes may have gone."""
        return self.chance.choice((self.world, int(self.family.twin[self.world])))

    def read(self, check: CheckModel, reporter: str, *, numbers: bool = True) -> None:
        """Tell what a check shows in the hidden world, or anything at all."""
        row = [float(x) for x in check.table[self.state()]]
        random_one = self.chance.random() < MISTAKES
        answer = self.chance.choices(check.outcomes, None if random_one else row)[0]
        body: dict[str, object] = {"check_id": check.id, "reported_by": reporter}
        as_number = numbers and self.chance.random() < 0.7 and answer.id != "absent"
        if as_number and takes_a_number(self.data.checks[check.id]):
            body |= self.number(check.id, answer.low, answer.high)
        else:
            body["answer"] = answer.id
        self.tell("reading_taken", **body)

    def number(self, check_id: str, low: float | None, high: float | None) -> Mapping[str, object]:
        """Return a number within a span, as it is entered."""
        scale = scale_of(self.data.checks[check_id])
        start = low if low is not None else (high or 0.0) - 10.0
        kept = self.chance.uniform(start, high if high is not None else start + 10.0)
        return self.entered(check_id, (kept - scale.offset) / scale.factor)

    def entered(self, check_id: str, si: float) -> Mapping[str, object]:
        """Return a number as people enter it."""
        entry = self.data.checks[check_id]
        scale = scale_of(entry)
        unit = next(u for u in find_units(entry.unit) if u.dimension is scale.dimension)
        return {"value": (si - unit.zero_si()) / unit.scale(), "unit": unit.name, "si_value": si}
