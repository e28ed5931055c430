"""Play the study's calls, or write its pages from what was played.

``python -m benchmarks.planner.calls run --calls N`` plays every call up to number N that is not yet
in the folder, a few of each kind in turn, so that a run that is stopped has covered all alike;
``... compare`` sets two folders of the same calls side by side, call by call;
``... field`` weighs the field cases; ``... report`` writes the page and the plots beside this file.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchmarks.planner.calls.changed import write_changed
from benchmarks.planner.calls.field import weigh_field_cases
from benchmarks.planner.calls.policies import policies
from benchmarks.planner.calls.report import write_report
from benchmarks.planner.calls.runs import Run, this_commit
from benchmarks.planner.calls.settings import DEPARTURES, OWN_TABLES, SETTINGS
from benchmarks.planner.calls.stage import Stage
from catchpan.store.family_shelf import FolderShelf

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

SEED: Final = 20_261
TURN: Final = 8
"""So many calls of one kind are played, their homes simulated at once, before the next kind's."""

FOLDER: Final = Path(".cache/planner")


def main() -> None:
    """Do what the command line says."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.planner.calls")
    parser.add_argument("act", choices=("run", "field", "report", "compare"))
    parser.add_argument("--calls", type=int, default=100, help="calls of each kind (100)")
    parser.add_argument("--settings", default="", help="only names that contain one of these, by ,")
    parser.add_argument("--departures", default="", help="only these names, by ;")
    parser.add_argument("--policies", default="", help="only these names, by ;")
    parser.add_argument("--minutes", type=float, default=1e9, help="begin no turn after so long")
    parser.add_argument("--folder", type=Path, default=FOLDER, help=f"records ({FOLDER})")
    parser.add_argument("--before", type=Path, default=FOLDER, help="the other folder, to compare")
    parser.add_argument("--seed", type=int, default=SEED, help=f"of the hidden calls ({SEED})")
    asked = parser.parse_args()
    if asked.act == "compare":
        write_changed(asked.before, asked.folder, Path(__file__).parent)
        return
    if asked.act == "report":
        write_report(asked.folder, Path(__file__).parent)
        return
    if asked.act == "field":
        weigh_field_cases(asked.folder)
        return
    start, commit = time.monotonic(), this_commit()
    kinds = list(_stages(asked))
    for first in range(0, asked.calls, TURN):
        for stage, run in kinds:
            if time.monotonic() - start < 60.0 * asked.minutes:
                calls = range(first, min(first + TURN, asked.calls))
                _play(stage, run, calls, asked, commit)


def _stages(asked: argparse.Namespace) -> Iterator[tuple[Stage, Run]]:
    shelf = FolderShelf(asked.folder / "families")
    known = {d.name: d for d in DEPARTURES}
    for name in _words(asked.departures, ";") or (OWN_TABLES, *known):
        for setting in SETTINGS:
            parts = _words(asked.settings, ",")
            if not parts or any(part in setting.name for part in parts):
                run = Run(asked.folder, name, setting.name)
                yield Stage(setting, known.get(name), asked.seed, shelf), run


def _play(stage: Stage, run: Run, calls: range, asked: argparse.Namespace, commit: str) -> None:
    """Play the calls that are missing, call by call, so that all policies have the same ones."""
    wanted = _words(asked.policies, ";") or tuple(policies())
    chosen = {name: policy for name, policy in policies().items() if name in wanted}
    done = run.played()
    missing = [(c, name) for c in calls for name in chosen if (c, name) not in done]
    if not missing:
        return
    start = time.monotonic()
    stage.ready(calls)
    run.begin(asked.seed, commit)
    for call, name in missing:
        run.add(stage.played(call, name, chosen[name]))
    spent = time.monotonic() - start
    print(
        f"{run.departure} | {run.setting}: {len(missing)} plays in {spent:.0f} s, "
        f"{len(done) + len(missing)} in all",
        flush=True,
    )


def _words(text: str, mark: str) -> Sequence[str]:
    return tuple(w.strip() for w in text.split(mark) if w.strip())


if __name__ == "__main__":
    main()
