"""Do the data files hang together: every name in them leads somewhere, on some system.

Run as ``python -m catchpan.catalog.lint``; the same problems fail the tests.
"""

import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from itertools import chain

from catchpan.catalog.entry import CheckEntry, FaultEntry, ObserveEntry, ProofEntry
from catchpan.catalog.errors import BrokenData, Problem
from catchpan.catalog.load import Catalog, catalog
from catchpan.catalog.system import build_plant, effect, options_of, structural_options
from catchpan.physics.circuits.branch import GROUND
from catchpan.plant.blueprint import BranchEffect, ShortEffect
from catchpan.plant.part import Surroundings
from catchpan.plant.settle import settle


@dataclass(frozen=True)
class Vocabulary:
    """Every name the plants of the catalog know, over all archetypes and options."""

    terminals: frozenset[str]
    branches: frozenset[str]
    values: frozenset[str]
    signals: frozenset[str]
    conditions: frozenset[str]
    options: frozenset[str]


def settings_of(name: str, data: Catalog) -> Iterator[dict[str, str]]:
    """Yield the likeliest setting of an archetype, then every one that differs in one option."""
    options = options_of(name, data)
    asked = {o for f in data.faults.values() for o in f.needs_option}
    named = [o for o in options if o in asked or o in structural_options(name, data)]
    base = {o: max(options[o].values, key=lambda v: v.prior).id for o in named}
    yield base
    for option in named:
        for value in options[option].values:
            if value.id != base[option]:
                yield {**base, option: value.id}


def vocabulary(data: Catalog) -> Vocabulary:
    """Collect the names of all plants."""
    names: dict[str, set[str]] = {k: set() for k in ("t", "b", "v", "s", "c", "o")}
    for name, entry in data.archetypes.items():
        names["o"] |= set(options_of(name, data))
        for setting in settings_of(name, data):
            plant = build_plant(name, setting, data)
            names["t"] |= plant.terminals()
            names["b"] |= set(plant.column)
            names["v"] |= set(plant.defaults)
            names["c"] |= set(plant.conditions)
            for demand in entry.demands:
                state = settle(plant, plant.set_up([()]), Surroundings(demand))
                names["s"] |= set(state.signals)
    return Vocabulary(*(frozenset(names[k]) for k in ("t", "b", "v", "s", "c", "o")))


def problems(data: Catalog) -> list[Problem]:
    """Return everything in the data that leads nowhere."""
    words = vocabulary(data)
    return [
        *chain.from_iterable(_fault_problems(f, words, data) for f in data.faults.values()),
        *chain.from_iterable(_check_problems(c, words, data) for c in data.checks.values()),
        *chain.from_iterable(_proof_problems(p, words, data) for p in data.proofs.values()),
        *_repair_problems(data),
        *(
            Problem("proofs", name, "id", "a check has this id too")
            for name in sorted(data.proofs.keys() & data.checks.keys())
        ),
    ]


def _fault_problems(fault: FaultEntry, words: Vocabulary, data: Catalog) -> Iterator[Problem]:
    yield from _effect_problems(fault, words)
    yield from _chain_problems(fault, words, data)
    if fault.kind != "latent" and not any(
        fnmatchcase(fault.id, g) for r in data.repairs.values() for g in r.fixes
    ):
        yield Problem("faults", fault.id, "", "no repair fixes it")
    yield from _hazards("faults", fault.id, fault.hazards, data)


def _effect_problems(fault: FaultEntry, words: Vocabulary) -> Iterator[Problem]:
    for i, entry in enumerate(fault.effects):
        found = effect(entry)
        if isinstance(found, BranchEffect):
            missing = [found.branch] if found.branch not in words.branches else []
        elif isinstance(found, ShortEffect):
            missing = [t for t in (found.a, found.b) if t not in words.terminals | {GROUND}]
        else:
            missing = [found.name] if found.name not in words.values else []
        for name in missing:
            yield Problem("faults", fault.id, f"effects.{i}", f"no plant knows '{name}'")
    if fault.id not in words.conditions:
        yield Problem("faults", fault.id, "effects", "no single system has all it touches")


def _chain_problems(fault: FaultEntry, words: Vocabulary, data: Catalog) -> Iterator[Problem]:
    for clause in chain.from_iterable(a.all for a in fault.arises):
        if clause.signal not in words.signals:
            yield Problem("faults", fault.id, "arises", f"no plant gives '{clause.signal}'")
    for brought in fault.brought:
        if brought.by not in data.faults:
            yield Problem("faults", fault.id, "brought.by", f"no fault '{brought.by}'")


def _observe_problems(
    kind: str, name: str, observe: ObserveEntry, words: Vocabulary, data: Catalog
) -> Iterator[Problem]:
    for terminal in observe.between or ():
        if terminal not in words.terminals | {GROUND}:
            yield Problem(kind, name, "observe.between", f"no terminal '{terminal}'")
    known = {
        "signal": words.signals,
        "current": words.branches,
        "capacitance": words.branches,
        "resistance": words.branches,
        "option": words.options,
    }.get(observe.quantity)
    if known is not None and observe.of and observe.of not in known:
        yield Problem(kind, name, "observe.of", f"no {observe.quantity} '{observe.of}'")
    for condition in observe.resets:
        if condition not in data.faults:
            yield Problem(kind, name, "observe.resets", f"no fault '{condition}'")


def _check_problems(check: CheckEntry, words: Vocabulary, data: Catalog) -> Iterator[Problem]:
    yield from _observe_problems("checks", check.id, check.observe, words, data)
    yield from _hazards("checks", check.id, check.hazards, data)
    if check.place not in data.places:
        yield Problem("checks", check.id, "place", f"no place '{check.place}'")
    for answer in check.answers:
        for given in answer.given:
            if not any(fnmatchcase(f, given.fault) for f in data.faults):
                yield Problem("checks", check.id, f"answers.{answer.id}", f"no '{given.fault}'")


def _proof_problems(proof: ProofEntry, words: Vocabulary, data: Catalog) -> Iterator[Problem]:
    yield from _observe_problems("proofs", proof.id, proof.observe, words, data)
    yield from _hazards("proofs", proof.id, proof.hazards, data)
    for other in proof.instead:
        if other not in data.proofs:
            yield Problem("proofs", proof.id, "instead", f"no proof '{other}'")


def _repair_problems(data: Catalog) -> Iterator[Problem]:
    for repair in data.repairs.values():
        for pattern in repair.fixes:
            if not any(fnmatchcase(f, pattern) for f in data.faults):
                yield Problem("repairs", repair.id, "fixes", f"no fault matches '{pattern}'")
        for proof in repair.proofs:
            if proof not in data.proofs:
                yield Problem("repairs", repair.id, "proofs", f"no proof '{proof}'")
        if repair.place not in data.places:
            yield Problem("repairs", repair.id, "place", f"no place '{repair.place}'")
        yield from _hazards("repairs", repair.id, repair.hazards, data)


def _hazards(kind: str, name: str, hazards: tuple[str, ...], data: Catalog) -> Iterator[Problem]:
    for hazard in hazards:
        if hazard not in data.hazards:
            yield Problem(kind, name, "hazards", f"no hazard '{hazard}'")


def counts(data: Catalog) -> Mapping[str, int]:
    """How much there is of each kind."""
    by_kind = {
        k: sum(f.kind == k for f in data.faults.values()) for k in ("root", "consequence", "latent")
    }
    return {
        **by_kind,
        "checks": len(data.checks),
        "phone checks": sum(c.phone for c in data.checks.values()),
        "repairs": len(data.repairs),
        "proofs": len(data.proofs),
    }


def main() -> int:
    """Print the problems and the counts; return an exit code."""
    try:
        data = catalog()
    except BrokenData as error:
        sys.stdout.write(f"{error}\n")
        return error.exit_code
    found = problems(data)
    for problem in found:
        sys.stdout.write(f"{problem}\n")
    sys.stdout.write(f"{dict(counts(data))}\n")
    return BrokenData.exit_code if found else 0


if __name__ == "__main__":
    sys.exit(main())
