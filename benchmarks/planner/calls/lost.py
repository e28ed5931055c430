"""The calls that were lost to the trade's habit, and why, as far as the records tell."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from catchpan.diagnosis.rehearsal.record import Record

Pair = tuple["Record", "Record", str]
"""Our play, theirs, and the setting."""

SHOWN: Final = 12


def losses(pairs: Sequence[Pair]) -> list[Pair]:
    """Return the calls in which ours cost more, the worst first."""
    worse = [p for p in pairs if p[0].cost_dollars > p[1].cost_dollars + 1e-9]
    return sorted(worse, key=lambda p: p[1].cost_dollars - p[0].cost_dollars)


def why(ours: Record, theirs: Record) -> str:
    """Say in one phrase what made the difference."""
    if theirs.fixed and not ours.fixed:
        how = "closed as done too soon" if ours.call_back else "given up"
        return f"{how}, what led was {ours.leading}"
    if ours.wrong_parts > theirs.wrong_parts:
        return f"{ours.wrong_parts} parts put in for nothing, theirs {theirs.wrong_parts}"
    if ours.wrong_tries > theirs.wrong_tries:
        return f"{ours.wrong_tries} repairs for nothing, theirs {theirs.wrong_tries}"
    if "site=arrived" in ours.path and "site=arrived" not in theirs.path:
        return "drove to what the other settled on the phone"
    if len(ours.path) > len(theirs.path):
        return f"{len(ours.path)} steps, theirs {len(theirs.path)}: the cause came up later"
    return f"dearer steps, {ours.minutes - theirs.minutes:+.0f} min"


def lost_lines(pairs: Sequence[Pair]) -> Iterator[str]:
    """Yield how many calls were lost, for what reasons, and the worst of them."""
    found = losses(pairs)
    share = len(found) / max(len(pairs), 1)
    gap = [a.cost_dollars - b.cost_dollars for a, b, _ in found]
    mean = sum(gap) / max(len(gap), 1)
    yield f"{len(found)} of {len(pairs)} calls ({100 * share:.0f} %) cost more, by ${mean:.0f} on"
    yield f"the mean. The {min(SHOWN, len(found))} dearest:"
    yield ""
    yield "| setting, call | what was there | $ more | minutes, theirs | why |"
    yield "|---|---|---|---|---|"
    for a, b, setting in found[:SHOWN]:
        there = ", ".join(a.there[:3]) + (" ..." if len(a.there) > 3 else "")
        cells = [f"{setting.replace('.', ': ')}, {a.call}", there]
        cells += [f"{a.cost_dollars - b.cost_dollars:.0f}", f"{a.minutes:.0f}, {b.minutes:.0f}"]
        yield f"| {' | '.join([*cells, why(a, b)])} |"
    yield ""
    yield "All of them by reason:"
    yield ""
    yield from _reasons(found)


def _reasons(found: Sequence[Pair]) -> Iterator[str]:
    counts: dict[str, int] = {}
    for a, b, _ in found:
        kind = why(a, b).split(",")[0].split(":")[0]
        kind = " ".join(w for w in kind.split() if not w.lstrip("+-").isdigit())
        counts[kind] = counts.get(kind, 0) + 1
    for kind, count in sorted(counts.items(), key=lambda item: -item[1]):
        yield f"- {count}: {kind}"
