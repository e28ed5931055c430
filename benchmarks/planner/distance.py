"""How far each policy is from the optimum: ``python -m benchmarks.planner.distance``.

``... distance make`` draws the instances and adds those with their optima to
``instances.jsonl.gz`` that it does not hold yet; ``... distance run MINUTES`` walks every policy on
those that ``distance.json`` does not hold yet, for at most so long (without a figure: to the end).
Remove a file to begin it anew;
``... distance page`` writes ``distance.md`` and ``distance.svg`` from that file.
"""

from __future__ import annotations

import gzip
import json
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from benchmarks.planner.exact import solve
from benchmarks.planner.instances import Instance, Setting, draw
from benchmarks.planner.walk import chooser, walked
from catchpan.diagnosis.planning.policy import BASELINES, EASY_NO_PROOF, Planner, Policy

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

HERE = Path(__file__).parent
FIRST_SEED = 500_000
"""The planner was made on the seeds 10000 to 10063; none of those is used here."""

NOISES = (0.0, 0.1, 0.2)
SIZES: tuple[tuple[int, int, int, int, tuple[float, ...], tuple[float, ...]], ...] = (
    (5, 4, 3, 300, (5.0, 15.0), NOISES),
    (8, 6, 4, 300, (5.0,), NOISES),
    (10, 8, 4, 5, (5.0,), (0.0,)),
)
"""Faults, checks, places, how many instances of each group, scales of the places, errors."""

GROUPS: dict[str, tuple[Setting, int]] = {
    f"{faults} faults, places x {scale:g}, error {error:g}": (
        Setting(faults, checks, places, scale, error),
        count,
    )
    for faults, checks, places, count, scales, errors in SIZES
    for scale in scales
    for error in errors
}
POLICIES: tuple[Policy, ...] = (Planner(), *(p for p in BASELINES if p is not EASY_NO_PROOF))
"""There are no proofs here, so the habit without them is no other."""
TABLE = HERE / "distance.json"
INSTANCES = HERE / "instances.jsonl.gz"


def made() -> Iterator[dict[str, Any]]:
    """Draw every instance, and solve those that are not solved yet."""
    known = {(group, instance): optimum for group, instance, optimum in kept()}
    for g, (group, (setting, count)) in enumerate(GROUPS.items()):
        for i in range(count):
            seed = FIRST_SEED + 1000 * g + i
            instance = draw(setting, seed)
            record = instance.record() | {"group": group, "seed": seed}
            optimum = known.get((group, instance))
            if optimum is None:
                optimum = round(solve(instance).optimum, 9)
            yield record | {"optimum": optimum}


def kept() -> list[tuple[str, Instance, float]]:
    """Read the instances that come with the benchmark: group, instance, optimum."""
    found: list[tuple[str, Instance, float]] = []
    if not INSTANCES.exists():
        return found
    with gzip.open(INSTANCES, "rt", encoding="utf-8") as lines:
        for line in lines:
            record = json.loads(line)
            group, optimum = record.pop("group"), record.pop("optimum")
            record.pop("seed")
            fields = {k: _tuples(v) for k, v in record.items()}
            found.append((group, Instance(**fields), optimum))
    return found


def _tuples(value: list[Any]) -> tuple[Any, ...]:
    return tuple(tuple(v) if isinstance(v, list) else v for v in value)


Excesses = dict[str, dict[str, list[float]]]


def add_excesses(found: Excesses, minutes: float) -> None:
    """Add the share by which each policy costs more than the optimum, by group and policy.

    The groups are taken in turns, so that all of them are there when the time is over.
    """
    end = time.monotonic() + 60.0 * minutes
    turns = [(i, item) for items in _by_group().values() for i, item in enumerate(items)]
    for i, (group, instance, optimum) in sorted(turns, key=lambda turn: turn[0]):
        if time.monotonic() > end:
            return
        row = found.setdefault(group, {policy.name: [] for policy in POLICIES})
        if i < len(row[POLICIES[0].name]):
            continue
        for name, excess in excess_of(instance, optimum).items():
            row[name].append(excess)


def _by_group() -> dict[str, list[tuple[str, Instance, float]]]:
    groups: dict[str, list[tuple[str, Instance, float]]] = {}
    for item in kept():
        groups.setdefault(item[0], []).append(item)
    return groups


def excess_of(instance: Instance, optimum: float) -> dict[str, float]:
    """Share by which each policy costs more than the optimum of an instance."""
    family, found = instance.family(), {}
    for policy in POLICIES:
        cost = walked(instance, chooser(policy, instance, family))
        if cost < optimum * (1.0 - 1e-6):
            raise ArithmeticError(f"{policy.name} beats the optimum {optimum:g}: {cost:g}")
        found[policy.name] = round(cost / optimum - 1.0, 9)
    return found


def page(found: Excesses) -> Iterator[str]:
    """Yield the lines of the page."""
    yield "# Distance from the optimum"
    yield ""
    yield "Obtained with `python -m benchmarks.planner.distance run` and `... page`, on the"
    yield f"instances in `instances.jsonl.gz` (seeds from {FIRST_SEED}). Every branch of every"
    yield "policy is walked, nothing is sampled; the optimum is that of `exact.py`. Figures are"
    yield "per cent over it. The planner was made on other seeds (10000 to 10063); nothing was"
    yield "tuned on these. Where a group shows fewer instances than its file holds, the run was cut"
    yield "short after its first ones; the same command goes on from there."
    yield ""
    for group, row in found.items():
        yield f"## {group} ({len(row[POLICIES[0].name])} instances)"
        yield ""
        yield "| policy | mean | median | p95 | p99 | worst | optimal in |"
        yield "|---|---|---|---|---|---|---|"
        for name, shares in row.items():
            yield _row(name, shares)
        yield ""


def _row(name: str, shares: Sequence[float]) -> str:
    excess = 100.0 * np.array(shares)
    figures = [excess.mean(), *np.quantile(excess, [0.5, 0.95, 0.99]), excess.max()]
    cells = [f"{x:.3f}" if x < 10 else f"{x:.1f}" for x in figures]
    return f"| {name} | {' | '.join(cells)} | {np.mean(excess < 1e-4):.0%} |"


def draw_picture(found: Excesses) -> None:
    """Draw how much of the instances lies within an excess, all groups together."""
    import matplotlib as mpl  # noqa: PLC0415 - only for the picture

    mpl.use("svg")
    mpl.rcParams["svg.hashsalt"] = "catchpan"
    from matplotlib import pyplot as plt  # noqa: PLC0415

    figure, axes = plt.subplots(figsize=(7, 4), layout="constrained")
    for policy in POLICIES:
        shares = np.sort(np.concatenate([row[policy.name] for row in found.values()]))
        height = np.arange(1, len(shares) + 1) / len(shares)
        axes.step(np.maximum(100.0 * shares, 1e-3), height, where="post", label=policy.name)
    axes.set_xscale("log")
    axes.set_xlabel("cost over the optimum, % (1e-3 stands for less)")
    axes.set_ylabel("share of instances")
    axes.legend(loc="lower right", fontsize="small")
    figure.savefig(HERE / "distance.svg", metadata={"Date": None})


def main(argument: str, minutes: float) -> None:
    """Make the instances, run the policies, or write the page."""
    if argument == "make":
        lines = "".join(json.dumps(record) + "\n" for record in made())
        INSTANCES.write_bytes(gzip.compress(lines.encode(), mtime=0))
    elif argument == "run":
        begun: Excesses = json.loads(TABLE.read_text()) if TABLE.exists() else {}
        add_excesses(begun, minutes)
        TABLE.write_text(json.dumps(begun) + "\n")
    else:
        found = json.loads(TABLE.read_text())
        (HERE / "distance.md").write_text("\n".join(page(found)))
        draw_picture(found)


if __name__ == "__main__":
    wanted = sys.argv[1] if len(sys.argv) > 1 else "page"
    main(wanted, float(sys.argv[2]) if len(sys.argv) > 2 else float("inf"))
