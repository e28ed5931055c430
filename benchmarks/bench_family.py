"""How long the family of worlds takes: compiling it, a reading, the next step; and beside a peer.

``python -m benchmarks.bench_family`` writes the page ``benchmarks/family.md`` to standard output.
"""

import os
import platform
import tempfile
import time
import timeit
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchmarks.measurement import Measurement, measure
from catchpan.catalog.load import catalog
from catchpan.catalog.system import options_of
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.planning.planner import next_steps
from catchpan.diagnosis.planning.situation import Situation
from catchpan.diagnosis.worlds.compile_family import Costs, Size, compile_family
from catchpan.diagnosis.worlds.compiled import compiled, family_key, forget
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family, likelihood_table
from catchpan.diagnosis.worlds.family_arrays import to_arrays
from catchpan.store.family_shelf import FolderShelf

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # its wrapper types have no module name
    import pyagrum

READINGS = 10
EVERY_PAIR = 1_000_000
PEER_WORLDS = 1000
PEER_CHECKS = 20
PEER_TIMES = 200
PEER = "air-conditioner-furnace"


@dataclass(frozen=True)
class Case:
    """A system to be timed: its kind, whether its options are known, whether no pair is cut."""

    archetype: str
    known: bool
    every_pair: bool = False

    @property
    def words(self) -> str:
        """Name it for the table."""
        options = f"options {'known' if self.known else 'unknown'}"
        return f"{self.archetype}, {options}{', every pair' if self.every_pair else ''}"

    @property
    def size(self) -> Size:
        """How much of the family is kept."""
        return Size(settings=1, pairs=EVERY_PAIR) if self.every_pair else Size()

    def description(self) -> Description:
        """Return its description; known options have their likeliest value."""
        options = options_of(self.archetype, catalog())
        likeliest = {o: max(e.values, key=lambda v: v.prior).id for o, e in options.items()}
        return Description(self.archetype, likeliest if self.known else {}, season="cooling")


def cases() -> Iterator[Case]:
    """Yield every archetype, with its options known (also with no pair cut) and unknown."""
    for archetype in catalog().archetypes:
        yield Case(archetype, known=True)
        yield Case(archetype, known=True, every_pair=True)
        yield Case(archetype, known=False)


def likely_readings(family: Family, count: int) -> list[Reading]:
    """Return the likeliest answers of the likeliest faulty world to the first checks."""
    world = int(np.argmax(np.where(family.works | family.other, -np.inf, family.log_prior)))
    checks = [c for _, c in sorted(family.checks.items()) if not c.proof][:count]
    return [Reading(c.id, c.outcomes[int(c.table[world].argmax())].id) for c in checks]


def measurements() -> Iterator[Measurement]:
    """Time compiling (once each), finding again, ten readings, the next step, and the peer."""
    for case in cases():
        yield from _of(case, *_compiled(case))
    yield from _peer()[0]


def _compiled(case: Case) -> tuple[Family, float]:
    start = time.perf_counter()
    family = compile_family(case.description(), size=case.size)
    return family, time.perf_counter() - start


def _of(case: Case, family: Family, span: float) -> Iterator[Measurement]:
    yield Measurement(f"compile: {case.words}", 1, span, span)
    readings = likely_readings(family, READINGS)
    belief = Belief.prior(family).observe_all(readings)
    site = Situation(place="indoor_unit", done=frozenset(r.check_id for r in readings))
    yield measure(f"{READINGS} readings: {case.words}", lambda: _weighed(family, readings))
    yield measure(f"next step: {case.words}", lambda: next_steps(family, belief, site))
    if not case.known:
        yield _found_again(case, family)


def _weighed(family: Family, readings: list[Reading]) -> NDArray[np.float64]:
    return Belief.prior(family).observe_all(readings).probabilities()


def _found_again(case: Case, family: Family) -> Measurement:
    description, data = case.description(), catalog()
    with tempfile.TemporaryDirectory() as folder:
        shelf = FolderShelf(Path(folder))
        shelf.put(family_key(description, data, Costs(), Size()), to_arrays(family))

        def again() -> None:
            forget()
            compiled(description, shelf=shelf)

        return measure(f"from the shelf: {case.words}", again)


def _peer() -> tuple[list[Measurement], float]:
    """Time the same readings here and in pyagrum on a reduced model, and compare the results."""
    family = reduced(compile_family(Case(PEER, known=True).description()))
    readings = likely_readings(family, READINGS)
    engine, columns = _peer_engine(family, readings)
    ours = fastest("peer, fastest go: ours", lambda: _weighed(family, readings))
    theirs = fastest("peer, fastest go: pyagrum", lambda: _by_peer(engine, columns))
    gap = np.abs(_weighed(family, readings) - _by_peer(engine, columns)).max()
    return [ours, theirs], float(gap)


def fastest(what: str, act: Callable[[], object]) -> Measurement:
    """Time an act often and keep the fastest go, which other work on the machine disturbs least."""
    spans = timeit.repeat(act, number=1, repeat=PEER_TIMES)
    return Measurement(what, PEER_TIMES, min(spans), max(spans))


def reduced(family: Family) -> Family:
    """Return the likeliest worlds with the first checks, without repairs; the rest as it was."""
    order = np.argsort(np.where(family.other, np.inf, -family.log_prior), kind="stable")
    kept = np.sort(order[:PEER_WORLDS])
    checks = [c for _, c in sorted(family.checks.items()) if not c.proof][:PEER_CHECKS]
    return replace(
        family,
        worlds=tuple(family.worlds[i] for i in kept),
        log_prior=family.log_prior[kept],
        checks={c.id: replace(c, table=c.table[kept], numeric=None) for c in checks},
        repairs={},
        working=family.works[kept],
    )


def _peer_engine(family: Family, readings: list[Reading]) -> tuple[Any, dict[str, int]]:
    """Build the same model as a net: one variable for the world, one child a check."""
    library: Any = pyagrum
    net = library.BayesNet()
    net.add(library.LabelizedVariable("world", "world", len(family.worlds)))
    prior = np.exp(family.log_prior - family.log_prior.max())
    net.cpt("world")[:] = prior / prior.sum()
    for k, check in enumerate(family.checks.values()):
        net.add(library.LabelizedVariable(f"check{k}", check.id, len(check.outcomes)))
        net.addArc("world", f"check{k}")
        net.cpt(f"check{k}")[:] = likelihood_table(family, check)
    number = {check_id: k for k, check_id in enumerate(family.checks)}
    columns = {
        f"check{number[r.check_id]}": family.checks[r.check_id].outcome_index(str(r.outcome_id))
        for r in readings
    }
    engine = library.LazyPropagation(net)
    engine.setNumberOfThreads(1)
    return engine, {k: v for k, v in columns.items() if v is not None}


def _by_peer(engine: Any, columns: dict[str, int]) -> NDArray[np.float64]:
    engine.eraseAllEvidence()
    engine.setEvidence(columns)
    engine.makeInference()
    return np.asarray(engine.posterior("world").toarray(), dtype=np.float64)


def page() -> Iterator[str]:
    """Yield the lines of the page with the table and how it was obtained."""
    versions = f"Python {platform.python_version()}, numpy {np.__version__}"
    yield "# Times of the family of worlds"
    yield ""
    yield "Obtained with `python -m benchmarks.bench_family > benchmarks/family.md`, on"
    yield f"{platform.machine()} with {versions}; other work may have shared the machine."
    yield f"Compiling is timed once; {READINGS} readings, the next step and the shelf as the median"
    yield "of 5 after one untimed go. The catalog then held"
    data = catalog()
    yield f"{len(data.faults)} faults, {len(data.checks)} checks, {len(data.repairs)} repairs."
    yield ""
    yield "| system | worlds | checks | compile, s | from the shelf, s | readings, ms | step, ms |"
    yield "|---|---|---|---|---|---|---|"
    for case in cases():
        yield _row(case)
    yield ""
    yield from _peer_lines()
    yield ""
    load = ", ".join(f"{x:.1f}" for x in os.getloadavg())
    yield f"Load averages of the machine at the end: {load}, on {os.cpu_count()} cores."


def _row(case: Case) -> str:
    family, span = _compiled(case)
    found = {m.what.split(":")[0]: m.median_s for m in _of(case, family, span)}
    shelf = found.get("from the shelf")
    cells = [
        case.words,
        f"{len(family.worlds)}",
        f"{len(family.checks)}",
        f"{found['compile']:.1f}",
        f"{shelf:.2f}" if shelf is not None else "",
        f"{1e3 * found[f'{READINGS} readings']:.1f}",
        f"{1e3 * found['next step']:.0f}",
    ]
    return f"| {' | '.join(cells)} |"


def _peer_lines() -> Iterator[str]:
    (ours, theirs), gap = _peer()
    yield "## Beside a peer"
    yield ""
    yield f"The same {READINGS} readings on a reduced model ({PEER_WORLDS} worlds of `{PEER}`,"
    yield f"{PEER_CHECKS} checks), in the same run, one thread each, fastest of {PEER_TIMES}:"
    yield ""
    yield f"- ours {1e3 * ours.median_s:.2f} ms;"
    yield f"- pyagrum {version('pyagrum')} (lazy propagation, the net already built)"
    yield f"  {1e3 * theirs.median_s:.2f} ms; {theirs.median_s / ours.median_s:.1f} times ours."
    yield ""
    yield f"The largest difference between the two posteriors is {gap:.1e}. pyagrum solves far"
    yield "more general nets than this one."


if __name__ == "__main__":
    for line in page():
        print(line, flush=True)
