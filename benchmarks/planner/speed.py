"""Speed beside general-purpose inference libraries: ``python -m benchmarks.planner.speed``.

One fault variable with 3,241 states (nothing, 80 causes, 3,160 pairs), 120 checks with 2 to 6
answers, five answers given. Every engine gets the same network, in the same run, one thread each,
fastest of several goes after an untimed one: the posterior, and the ranking of the 115 checks
that remain by expected entropy of the causes. Beside it our full ranking by expected cost to a fix
with places, which no library has.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import platform
import sys
import time
import timeit
import warnings
from importlib.metadata import version
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np

from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.planning.planner import plan
from catchpan.diagnosis.planning.situation import Situation
from catchpan.diagnosis.worlds.family import (
    CheckModel,
    Family,
    Outcome,
    PlaceModel,
    RepairModel,
    World,
)
from catchpan.diagnosis.worlds.stacked import stacked

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # its wrapper types have no module name
    import pyagrum

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

CAUSES, CHECKS, GIVEN, PLACES, SEED = 80, 120, 5, 6, 7


def network() -> Family:
    """Build the family; its numbers are random, its shape is that of a large call."""
    rng = np.random.default_rng(SEED)
    names = [f"cause{i:02d}" for i in range(CAUSES)]
    sets = [frozenset[str](), *(frozenset({n}) for n in names)]
    sets += [frozenset(pair) for pair in combinations(names, 2)]
    rate = rng.uniform(0.001, 0.03, CAUSES)
    chance = [1.0, *rate, *(a * b for a, b in combinations(rate, 2))]
    places = {f"place{p}": PlaceModel(f"place{p}", "", 3.0) for p in range(PLACES)}
    checks = {}
    for k in range(CHECKS):
        count = int(rng.integers(2, 7))
        table = rng.dirichlet(np.full(count, 0.3), len(sets)).astype(np.float32) + np.float32(1e-3)
        table /= table.sum(axis=1, keepdims=True)
        answers = tuple(Outcome(f"answer{a}", "") for a in range(count))
        place = f"place{k % PLACES}"
        checks[f"check{k:03d}"] = CheckModel(f"check{k:03d}", "", place, 2.0, answers, table)
    repairs = {
        f"repair{n}": RepairModel(
            f"repair{n}", "", f"place{i % PLACES}", 10.0, 50.0, frozenset({n})
        )
        for i, n in enumerate(names)
    }
    worlds = tuple(World(s, s, 0) for s in sets)
    prior = np.log(np.array(chance))
    return Family(worlds, prior, ({},), checks, repairs, places, {}, 2.0, 1500.0)


def given(family: Family) -> list[Reading]:
    """Return five answers."""
    return [Reading(c, "answer0") for c in list(family.checks)[:GIVEN]]


class Ours:
    """The project's own belief and ranking."""

    def __init__(self, family: Family) -> None:
        self.family, self.readings = family, given(family)
        self.table = stacked(family)
        self.log_table = np.ascontiguousarray(np.log(self.table.table).T)
        self.columns = [self.table.spans[r.check_id].start for r in self.readings]
        self.start = Belief.prior(family).start

    def posterior(self) -> NDArray[np.float64]:
        """Return the probability of every state after the answers, in log space."""
        total = self.start + self.log_table[self.columns].sum(axis=0)
        weights: NDArray[np.float64] = np.exp(total - total.max())
        weights /= weights.sum()
        return weights

    def entropies(self) -> NDArray[np.float64]:
        """Return the expected entropy of the causes after each remaining check, in bits."""
        chance = self.posterior()
        now = -float(chance @ np.log2(np.maximum(chance, 1e-300)))
        result: NDArray[np.float64] = (now - self.table.told_bits(chance))[GIVEN:]
        return result

    def full(self) -> object:
        """Rank every check and repair by expected cost to a fix, places included, one step."""
        belief = Belief.prior(self.family).observe_all(self.readings)
        done = frozenset(r.check_id for r in self.readings)
        return plan(self.family, belief, Situation("", done=done), 1, budget=None)


class Pyagrum:
    """The same network in pyAgrum; its fastest ways known to us."""

    def __init__(self, family: Family) -> None:
        library: Any = pyagrum
        table = stacked(family)
        self.net = library.BayesNet()
        self.net.add(library.LabelizedVariable("state", "", len(family.worlds)))
        prior = np.exp(family.log_prior)
        self.net.cpt("state")[:] = prior / prior.sum()
        self.names = list(family.checks)
        for name in self.names:
            span = table.spans[name]
            self.net.add(library.LabelizedVariable(name, "", span.stop - span.start))
            self.net.addArc("state", name)
            self.net.cpt(name)[:] = np.ascontiguousarray(table.table[:, span])
        self.engines = {
            kind: getattr(library, kind)(self.net)
            for kind in ("LazyPropagation", "ShaferShenoyInference", "VariableElimination")
        }
        for engine in self.engines.values():
            engine.setNumberOfThreads(1)
            engine.addTarget("state")
        self.evidence = dict.fromkeys(self.names[:GIVEN], 0)

    def state(self, kind: str) -> Any:
        """Return the posterior of the state as the library's own tensor."""
        engine = self.engines[kind]
        engine.eraseAllEvidence()
        engine.setEvidence(self.evidence)
        engine.makeInference()
        return engine.posterior("state")

    def posterior(self, kind: str) -> NDArray[np.float64]:
        """Return it as an array."""
        return np.asarray(self.state(kind).toarray(), dtype=np.float64)

    def entropies_alone(self) -> NDArray[np.float64]:
        """Rank by the library's tensors and its own entropies."""
        state, found = self.state("ShaferShenoyInference"), []
        for name in self.names[GIVEN:]:
            joint = self.net.cpt(name) * state
            found.append(joint.entropy() - joint.sumOut(["state"]).entropy())
        return np.array(found)

    def entropies(self) -> NDArray[np.float64]:
        """Rank by the library's tensors P(answer, state); the logarithms are numpy's."""
        state, found = self.state("ShaferShenoyInference"), []
        for name in self.names[GIVEN:]:
            joint = np.asarray((self.net.cpt(name) * state).toarray(), dtype=np.float64)
            answers = joint.sum(axis=0 if joint.shape[0] > joint.shape[1] else 1)
            found.append(_bits(joint) - _bits(answers))
        return np.array(found)


def _bits(chance: NDArray[np.float64]) -> float:
    return -float((chance * np.log2(np.maximum(chance, 1e-300))).sum())


def fastest(act: Callable[[], object], times: int) -> float:
    """Return the least milliseconds of processor time of an act, after an untimed go.

    Processor time, because other work may share the machine; every engine has one thread.
    """
    act()
    number = 1 if times <= 20 else 10
    spans = timeit.repeat(act, timer=time.process_time, number=number, repeat=times)
    return 1e3 * min(spans) / number


def page() -> Iterator[str]:
    """Yield the lines of the page."""
    family = network()
    ours, theirs = Ours(family), Pyagrum(family)
    kinds = {kind: fastest(lambda k=kind: theirs.posterior(k), 20) for kind in theirs.engines}  # type: ignore[misc]
    best = min(kinds, key=lambda kind: kinds[kind])
    gap = float(np.abs(ours.posterior() - theirs.posterior(best)).max())
    apart = float(np.abs(ours.entropies() - theirs.entropies()).max())
    mine = fastest(ours.posterior, 200), fastest(ours.entropies, 100), fastest(ours.full, 20)
    ranking = fastest(theirs.entropies, 10)
    alone = fastest(theirs.entropies_alone, 3)
    libraries = f"numpy {np.__version__}, pyAgrum {version('pyagrum')}"
    yield "# Speed beside a general-purpose library"
    yield ""
    yield "Obtained with `python -m benchmarks.planner.speed > benchmarks/planner/speed.md`, on"
    yield f"{platform.machine()}, Python {platform.python_version()}, {libraries}; one thread each,"
    load = ", ".join(f"{x:.1f}" for x in os.getloadavg())
    yield "fastest of several goes in processor time; load averages"
    yield f"{load} on {os.cpu_count()} cores."
    yield ""
    states, rows = len(family.worlds), ours.table.table.shape[1]
    yield f"{states} states, {CHECKS} checks ({rows} answers), {GIVEN} answers given."
    yield ""
    yield "| | ours, ms | pyAgrum at its best, ms | ratio | largest difference |"
    yield "|---|---|---|---|---|"
    beside = f"{kinds[best]:.3f} ({best}) | {kinds[best] / mine[0]:.1f}"
    yield f"| posterior | {mine[0]:.3f} | {beside} | {gap:.1e} |"
    beside = f"{ranking:.1f} (its tensors, logarithms by numpy) | {ranking / mine[1]:.0f}"
    yield f"| entropy ranking of the rest | {mine[1]:.3f} | {beside} | {apart:.1e} |"
    beside = f"{alone:.1f} (its own entropies) | {alone / mine[1]:.0f}"
    yield f"| the same | {mine[1]:.3f} | {beside} | |"
    yield f"| full expected-cost ranking with places | {mine[2]:.1f} | has none | | |"
    yield ""
    yield f"Our full ranking takes {mine[2] / ranking:.2f} times pyAgrum's entropy ranking where"
    yield f"numpy takes the logarithms, {mine[2] / alone:.2f} times the one by its own entropies."
    yield "pyAgrum solves far more general networks than this one. pgmpy is not beside it: it would"
    yield "bring 25 further packages into the lock (pandas, scikit-learn, statsmodels, a client for"
    yield "a model hub) for two rows of this table."


if __name__ == "__main__":
    sys.stdout.write("\n".join(page()) + "\n")
