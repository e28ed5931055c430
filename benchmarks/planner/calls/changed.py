"""What a change of the planner did to the same calls: two folders of records, call by call."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchmarks.planner.calls.figures import difference, figures, ratio
from benchmarks.planner.calls.policies import OURS
from benchmarks.planner.calls.runs import runs_in

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from catchpan.diagnosis.rehearsal.record import Record

PAGE: Final = "CHANGED.md"
SHOWN_DOLLARS: Final = 100.0
"""A call that costs so much more or less is shown by itself."""

HANDED_OVER: Final = "handed over though it works"

Call = tuple[str, str, int]


def write_changed(before: Path, after: Path, folder: Path) -> None:
    """Write the page beside the others."""
    (folder / PAGE).write_text("\n".join(changed_lines(before, after)) + "\n", encoding="utf-8")


def changed_lines(before: Path, after: Path) -> Iterator[str]:
    """Yield the page; calls that end with danger on the phone in either folder are left out."""
    was, now = _ours(before), _ours(after)
    keys = sorted(k for k in was.keys() & now.keys() if "danger" not in (was[k].end, now[k].end))
    old, new = [was[k] for k in keys], [now[k] for k in keys]
    yield "# Simulated calls: before and after a change"
    yield ""
    yield "Obtained with `python -m benchmarks.planner.calls compare --before FOLDER --folder"
    yield f"FOLDER` from two runs of the same {len(keys)} calls; what is what is told in"
    yield "[README.md](README.md)."
    yield ""
    yield f"- Before: {'; '.join(_goes(before))}."
    yield f"- After: {'; '.join(_goes(after))}."
    yield ""
    counted = ("wrong parts", "repairs for nothing", "call-backs", "not fixed", HANDED_OVER)
    yield f"| | minutes | all costs, $ | {' | '.join(f'{what} / 100' for what in counted)} |"
    yield "|---|---|---|---|---|---|---|---|"
    for name, played in (("before", old), ("after", new)):
        f = figures(played)
        over = 100.0 * sum(r.fixed and r.end == "handed over" for r in played) / len(played)
        cells = (f.dollars, f.wrong_parts, f.wrong_tries, f.call_backs, f.never_fixed, over)
        yield f"| {name} | {f.minutes[0]:.0f} | {' | '.join(f'{x:.1f}' for x in cells)} |"
    yield ""
    minutes = ratio(new, old, lambda r: r.minutes)
    dollars = ratio(new, old, lambda r: r.cost_dollars)
    unfixed = difference(new, old, lambda r: 100.0 * (not r.fixed))
    yield f"Minutes {minutes.text(2)} times, all costs {dollars.text(2)} times, not fixed"
    yield f"{unfixed.text(1)} in a hundred (95 % bootstrap intervals over calls)."
    yield ""
    yield f"Calls that cost ${SHOWN_DOLLARS:.0f} more or less than before:"
    yield ""
    yield "| setting, call | what was there | before | after |"
    yield "|---|---|---|---|"
    for key, a, b in zip(keys, old, new, strict=True):
        if abs(a.cost_dollars - b.cost_dollars) >= SHOWN_DOLLARS:
            there = ", ".join(a.there[:3]) + (" ..." if len(a.there) > 3 else "")
            yield f"| {key[1].replace('.', ': ')}, {key[2]} | {there} | {_told(a)} | {_told(b)} |"


def _ours(folder: Path) -> dict[Call, Record]:
    return {
        (run.departure, run.setting, call): record
        for run in runs_in(folder)
        for (call, policy), record in run.played().items()
        if policy == OURS
    }


def _goes(folder: Path) -> list[str]:
    found = {
        f"{head['departure']}, commit {head['commit']}, seed {head['seed']}, {head['date']}"
        for run in runs_in(folder)
        for head in run.heads()
    }
    return sorted(found)


def _told(record: Record) -> str:
    fixed = "fixed" if record.fixed else f"not fixed, {record.leading} led"
    return f"{record.end}, {fixed}: ${record.cost_dollars:.0f}, {record.minutes:.0f} min"
