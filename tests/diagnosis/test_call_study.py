"""The figures of the simulated calls, on a few made-up records that can be reckoned by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from benchmarks.planner.calls.calibration import score
from benchmarks.planner.calls.changed import changed_lines
from benchmarks.planner.calls.figures import difference, figures, paired, ratio
from benchmarks.planner.calls.lost import losses, lost_lines
from benchmarks.planner.calls.runs import Run
from catchpan.diagnosis.rehearsal.record import Record

if TYPE_CHECKING:
    from pathlib import Path

    from catchpan.diagnosis.rehearsal.record import End


def record(
    call: int, policy: str, minutes: float, *, end: End = "closed", fixed: bool = True
) -> Record:
    return Record(call, policy, ["a"], outside=False, minutes=minutes, cost_dollars=2.0 * minutes,
                  end=end, fixed=fixed)  # fmt: skip


def test_the_brier_score_falls_apart_into_its_three_parts() -> None:
    """Murphy 1973; exact where all forecasts of a bin are alike."""
    found = score([(0.7, True)] * 7 + [(0.7, False)] * 3 + [(0.1, True)] * 2 + [(0.1, False)] * 8)
    assert found.brier == pytest.approx((7 * 0.09 + 3 * 0.49 + 2 * 0.81 + 8 * 0.01) / 20)
    assert found.reliability == pytest.approx(0.5 * 0.1**2)
    assert found.resolution == pytest.approx(0.25**2)
    assert found.uncertainty == pytest.approx(0.45 * 0.55)
    parts = found.reliability - found.resolution + found.uncertainty
    assert found.brier == pytest.approx(parts)
    parts = found.log_reliability - found.log_resolution + found.log_uncertainty
    assert found.log == pytest.approx(parts)
    assert [(b.count, b.came) for b in found.bins] == [(10, 0.2), (10, 0.7)]


def test_calls_are_compared_only_where_all_played_and_none_met_danger() -> None:
    ours = {("d", "s", k): record(k, "ours", 10.0) for k in range(4)}
    theirs = {("d", "s", k): record(k, "theirs", 20.0) for k in range(3)}
    theirs["d", "s", 1] = record(1, "theirs", 1.0, end="danger")
    plays, danger = paired({"ours": ours, "theirs": theirs})
    assert danger == 1
    assert [k[2] for k in plays["ours"]] == [k[2] for k in plays["theirs"]] == [0, 2]
    a, b = (list(plays[n].values()) for n in ("ours", "theirs"))
    assert ratio(a, b, lambda r: r.minutes).value == pytest.approx(0.5)
    gap = difference(a, b, lambda r: r.minutes)
    assert (gap.low, gap.value, gap.high) == pytest.approx((-10.0, -10.0, -10.0))


def test_what_was_closed_and_is_not_fixed_is_a_call_back() -> None:
    calls = [
        record(0, "x", 10.0),
        record(1, "x", 30.0, fixed=False),
        record(2, "x", 50.0, end="handed over", fixed=False),
        record(3, "x", 30.0),
    ]
    found = figures(calls)
    assert (found.call_backs, found.never_fixed) == (25.0, 50.0)
    assert found.minutes[:2] == (30.0, 30.0)


def test_what_is_not_fixed_takes_another_visit() -> None:
    left = record(1, "x", 30.0, end="handed over", fixed=False)
    left.again_minutes = 70.0
    assert left.minutes_to_fix == 100.0
    assert figures([record(0, "x", 10.0), left]).to_fix == 55.0


def test_lost_calls_are_told_the_worst_first_with_a_reason() -> None:
    pairs = [
        (record(0, "ours", 30.0), record(0, "theirs", 20.0), "s"),
        (record(1, "ours", 30.0, fixed=False), record(1, "theirs", 10.0), "s"),
        (record(2, "ours", 10.0), record(2, "theirs", 20.0), "s"),
    ]
    assert [a.call for a, _, _ in losses(pairs)] == [1, 0]
    text = "\n".join(lost_lines(pairs))
    assert "2 of 3 calls (67 %)" in text
    assert "closed as done too soon" in text


def test_a_run_is_taken_up_where_it_was_left(tmp_path: Path) -> None:
    run = Run(tmp_path, "none", "s.c")
    run.begin(1, "abc")
    run.begin(1, "def")
    run.add(record(0, "ours", 10.0))
    again = Run(tmp_path, "none", "s.c")
    assert again.played() == {(0, "ours"): record(0, "ours", 10.0)}
    assert [h["commit"] for h in again.heads()] == ["def"]


def test_two_runs_of_the_same_calls_are_set_side_by_side(tmp_path: Path) -> None:
    """Two calls by hand: one is fixed now that was handed over, one met danger and is left out."""
    for name, fixed, minutes in (("before", False, 100.0), ("after", True, 40.0)):
        run = Run(tmp_path / name, "all together", "furnace.no-heat")
        run.begin(7, name)
        end: End = "closed" if fixed else "handed over"
        run.add(record(0, "catchpan", minutes, end=end, fixed=fixed))
        run.add(record(1, "catchpan", 9.0, end="danger"))
        run.add(record(0, "likeliest cause first", 900.0))
    lines = list(changed_lines(tmp_path / "before", tmp_path / "after"))
    assert "| before | 100 | 200.0 | 0.0 | 0.0 | 0.0 | 100.0 | 0.0 |" in lines
    assert "| after | 40 | 80.0 | 0.0 | 0.0 | 0.0 | 0.0 | 0.0 |" in lines
    assert any(line.startswith("Minutes 0.40 (0.40 to 0.40) times") for line in lines)
    assert any("closed, fixed: $80, 40 min" in line for line in lines)
