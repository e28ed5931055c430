"""Play the study's calls, or write its pages from what was played.

``python -m benchmarks.planner.calls run --calls N`` plays every call up to number N that is not yet
in the folder; ``... field`` weighs the field cases; ``... report`` writes the page and the plots
beside this file.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path
from typing import TYPE_CHECKING, Final

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
TOGETHER: Final = 40
"""The homes of so many calls are simulated at once."""

FOLDER: Final = Path(".cache/planner")


def main() -> None:
    """Do what the command line says."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.planner.calls")
    parser.add_argument("act", choices=("run", "field", "report"))
    parser.add_argument("--calls", type=int, default=100, help="calls of each kind (100)")
    parser.add_argument("--settings", default="", help="only names that contain one of these, by ,")
    parser.add_argument("--departures", default="", help="only these names, by ;")
    parser.add_argument("--policies", default="", help="only these names, by ;")
    parser.add_argument("--minutes", type=float, default=1e9, help="at most so long for each kind")
    parser.add_argument("--folder", type=Path, default=FOLDER, help=f"records ({FOLDER})")
    asked = parser.parse_args()
    if asked.act == "report":
        write_report(asked.folder, Path(__file__).parent)
        return
    if asked.act == "field":
        weigh_field_cases(asked.folder)
        return
    for stage, run in _stages(asked):
        _play(stage, run, asked)


def _stages(asked: argparse.Namespace) -> Iterator[tuple[Stage, Run]]:
    shelf = FolderShelf(asked.folder / "families")
    known = {d.name: d for d in DEPARTURES}
    for name in _words(asked.departures, ";") or (OWN_TABLES, *known):
        for setting in SETTINGS:
            parts = _words(asked.settings, ",")
            if not parts or any(part in setting.name for part in parts):
                run = Run(asked.folder, name, setting.name)
                yield Stage(setting, known.get(name), SEED, shelf), run


def _play(stage: Stage, run: Run, asked: argparse.Namespace) -> None:
    """Play the calls that are missing, call by call, so that all policies have the same ones."""
    wanted = _words(asked.policies, ";") or tuple(policies())
    chosen = {name: policy for name, policy in policies().items() if name in wanted}
    done = run.played()
    stage.ready(range(min(asked.calls, TOGETHER)))
    start = time.monotonic()
    run.begin(SEED, this_commit())
    for call in range(asked.calls):
        if time.monotonic() - start > 60.0 * asked.minutes:
            break
        if call % TOGETHER == 0:
            stage.ready(range(call, min(call + TOGETHER, asked.calls)))
        for name, policy in chosen.items():
            if (call, name) not in done:
                run.add(stage.played(call, name, policy))
    spent = (time.monotonic() - start) / 60.0
    print(
        f"{run.departure} | {run.setting}: {len(run.played())} plays, {spent:.1f} min", flush=True
    )


def _words(text: str, mark: str) -> Sequence[str]:
    return tuple(w.strip() for w in text.split(mark) if w.strip())


if __name__ == "__main__":
    main()
