"""Writing the page of results and its plots from the records of the runs."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from benchmarks.planner.calls.accounting import (
    costs_lines,
    minutes_lines,
    promise_lines,
    unknown_lines,
)
from benchmarks.planner.calls.calibration import score
from benchmarks.planner.calls.field import field_forecasts
from benchmarks.planner.calls.figures import Plays, difference, figures, paired, ratio
from benchmarks.planner.calls.lost import lost_lines
from benchmarks.planner.calls.plot import distribution_plot, reliability_plot
from benchmarks.planner.calls.policies import CLAIRVOYANT, NO_PROOFS, OURS, PRACTICE, policies
from benchmarks.planner.calls.runs import Run, runs_in
from benchmarks.planner.calls.settings import DEPARTURES, HEADLINE, OWN_TABLES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from benchmarks.planner.calls.calibration import Score
    from catchpan.diagnosis.rehearsal.record import Record

NO_DEPARTURE: Final = "none"

COMPARED: Final = (CLAIRVOYANT, OURS, *PRACTICE)
"""Whose calls are pooled; the rules of the books are slower and played on fewer calls."""

FEWEST: Final = 10
"""Fewer calls than this are no row of the table."""


@dataclass(frozen=True)
class Study:
    """All that was played, by departure, and the goes in which it was."""

    plays: dict[str, Plays]
    heads: tuple[dict[str, str], ...]
    folder: Path

    def pooled(self, departure: str) -> tuple[Plays, int]:
        """Return the calls of a departure that all played, and how many were left out.

        All are catchpan, who knows the cause and the habits.
        """
        found = self.plays[departure]
        return paired({name: found[name] for name in COMPARED if name in found})

    def also(self, departure: str, more: Sequence[str]) -> tuple[Plays, int]:
        """Return the calls that these policies played too."""
        found = self.plays[departure]
        chosen = {name: found[name] for name in (*COMPARED, *more) if name in found}
        common = set.intersection(*(set(records) for records in chosen.values()))
        return paired({n: {k: r[k] for k in common} for n, r in chosen.items()})

    def of_setting(self, departure: str, setting: str) -> tuple[Plays, int]:
        """Return the calls of one setting that every policy played there."""
        mine = {
            name: {k: r for k, r in found.items() if k[1] == setting}
            for name, found in self.plays[departure].items()
            if name in COMPARED
        }
        return paired({name: found for name, found in mine.items() if found})

    def settings(self, departure: str) -> list[str]:
        """Return the settings that were played under a departure."""
        return sorted({k[1] for found in self.plays[departure].values() for k in found})

    def order(self) -> list[str]:
        """Return the departures catchpan played, in the order they are told of."""
        known = [OWN_TABLES, *(d.name for d in DEPARTURES)]
        return [name for name in known if OURS in self.plays.get(name, {})]


def read_study(folder: Path) -> Study:
    """Read every run in a folder."""
    plays: dict[str, Plays] = defaultdict(lambda: defaultdict(dict))
    heads: list[dict[str, str]] = []
    for run in runs_in(folder):
        _add(plays, run)
        heads += run.heads()
    return Study({d: _in_order(found) for d, found in plays.items()}, tuple(heads), folder)


def _in_order(plays: Plays) -> Plays:
    return {name: plays[name] for name in policies() if plays.get(name)}


def _add(plays: dict[str, Plays], run: Run) -> None:
    for (call, policy), record in run.played().items():
        plays[run.departure].setdefault(policy, {})[run.departure, run.setting, call] = record


def write_report(folder: Path, into: Path) -> None:
    """Write ``RESULTS.md`` and the plots, and ``FIELD.md`` where the field cases were weighed."""
    study = read_study(folder)
    if field := list(_field_scores(study)):
        (into / "FIELD.md").write_text("\n".join(field) + "\n", encoding="utf-8")
    (into / "RESULTS.md").write_text("\n".join(_page(study)) + "\n", encoding="utf-8")
    for departure in (OWN_TABLES, HEADLINE):
        if OURS in study.plays.get(departure, {}):
            name = "own" if departure == OWN_TABLES else "departed"
            plot = reliability_plot(forecast_score(study, departure, first=False), departure)
            (into / f"reliability-{name}.svg").write_text(plot, encoding="utf-8")
    if HEADLINE in study.plays:
        plays, _ = study.pooled(HEADLINE)
        minutes = {name: [r.minutes for r in found.values()] for name, found in plays.items()}
        (into / "minutes.svg").write_text(distribution_plot(minutes), encoding="utf-8")


def forecast_score(
    study: Study, departure: str, *, first: bool, of: Callable[[Record], bool] | None = None
) -> Score:
    """Score "this repair gets it working" of our policy: first repairs of calls, or all.

    Parameters
    ----------
    of
        Which calls count; by default all of them.
    """
    records = [r for r in study.plays[departure][OURS].values() if of is None or of(r)]
    told = [r.forecasts[:1] if first else r.forecasts for r in records]
    return score([f for some in told for f in some])


def _page(study: Study) -> Iterator[str]:
    yield "# Simulated calls: what was measured"
    yield ""
    yield "Obtained with `python -m benchmarks.planner.calls run --calls N` and then"
    yield "`python -m benchmarks.planner.calls report`; what is what is told in"
    yield "[README.md](README.md). **Homes and planner share their physics, their list of faults"
    yield "and their list of checks, so these are comparisons of policies, not field results.** A"
    yield "call is cut off after 80 steps, which flatters the minutes of a policy that needs more;"
    yield "minutes *to the fix* hold, where the call did not fix it, a second visit by somebody who"
    yield "knows what is left. Played in these goes:"
    yield ""
    yield from _goes(study)
    yield from _headline(study)
    yield from _books(study)
    yield from _robustness(study)
    yield from _by_setting(study)
    yield from _calibration(study)
    yield from _lost(study)


def _goes(study: Study) -> Iterator[str]:
    found: dict[tuple[str, str, str], set[str]] = defaultdict(set)
    for head in study.heads:
        found[head["date"], head["commit"], str(head["seed"])].add(head["departure"])
    for (date, commit, seed), departures in sorted(found.items()):
        yield f"- {date}, commit {commit}, seed {seed}: {', '.join(sorted(departures))}."
    yield ""


def _headline(study: Study) -> Iterator[str]:
    if HEADLINE not in study.plays:
        return
    plays, danger = study.pooled(HEADLINE)
    if not plays.get(OURS):
        return
    yield f"## {HEADLINE.capitalize()}"
    yield ""
    yield f"{len(plays[OURS])} calls over {len(study.settings(HEADLINE))} settings, the same for"
    yield f"every policy; {danger} more ended on the phone with an answer that means danger and"
    yield "are left out."
    yield ""
    yield from _table(plays)
    yield ""
    yield from _comparisons(plays)
    yield ""
    yield "![How many calls are done within so many minutes](minutes.svg)"
    yield ""
    yield from costs_lines(plays)
    yield ""
    yield from _accounts(plays, HEADLINE)


def _accounts(plays: Plays, departure: str) -> Iterator[str]:
    yield f"### Where the minutes go: {departure}"
    yield ""
    yield from minutes_lines(plays)
    yield ""
    yield f"### Where promise and outcome part: {departure}"
    yield ""
    yield "What the first step of catchpan's call was said to cost until a proven fix, and what all"
    yield "of it cost."
    yield ""
    yield from promise_lines(plays)
    yield ""


def _books(study: Study) -> Iterator[str]:
    """Compare with what was played on fewer calls, on those calls."""
    books = tuple(name for name in policies() if name not in (*COMPARED, NO_PROOFS))
    for title, more in (
        ("the habit without proofs", (NO_PROOFS,)),
        ("the rules of the books", books),
    ):
        yield from _beside(study, title, more)


def _beside(study: Study, title: str, more: Sequence[str]) -> Iterator[str]:
    for departure in (HEADLINE, NO_DEPARTURE):
        if not all(name in study.plays.get(departure, {}) for name in more):
            continue
        plays, _ = study.also(departure, more)
        if len(plays.get(OURS, {})) < FEWEST:
            continue
        yield f"## Beside {title}: {departure}"
        yield ""
        yield f"{len(plays[OURS])} calls, the same for every policy."
        yield ""
        yield from _table(plays)
        yield ""
        yield from _comparisons(plays)
        yield ""


def _table(plays: Plays) -> Iterator[str]:
    yield (
        "| policy | minutes: mean | median | 90th | 99th | to the fix | parts, $ | all costs, $ "
        "| trips | wrong parts / 100 | repairs for nothing / 100 | call-backs / 100 "
        "| not fixed / 100 | over 80 steps / 100 |"
    )
    yield "|---" * 14 + "|"
    for name, found in plays.items():
        f = figures(list(found.values()))
        mean, median, high, highest = f.minutes
        shown = (mean, median, high, highest, f.to_fix, f.parts, f.dollars)
        cells = [name, *(f"{x:.0f}" for x in shown)]
        cells += [f"{x:.1f}" for x in (f.trips, f.wrong_parts, f.wrong_tries)]
        cells += [f"{x:.1f}" for x in (f.call_backs, f.never_fixed, f.too_long)]
        yield f"| {' | '.join(cells)} |"


def _comparisons(plays: Plays) -> Iterator[str]:
    ours = list(plays[OURS].values())
    for name, found in plays.items():
        if name == OURS:
            continue
        theirs = list(found.values())
        minutes = ratio(ours, theirs, lambda r: r.minutes)
        gap = difference(ours, theirs, lambda r: r.minutes)
        cost = ratio(ours, theirs, lambda r: r.cost_dollars)
        to_fix = ratio(ours, theirs, lambda r: r.minutes_to_fix)
        yield f"- catchpan against {name}: minutes {minutes.text(2)} times, {gap.text(0, ' min')};"
        both = [(a, b) for a, b in zip(ours, theirs, strict=True) if a.fixed and b.fixed]
        alone = ratio([a for a, _ in both], [b for _, b in both], lambda r: r.minutes)
        yield f"  all costs {cost.text(2)} times; minutes on the {len(both)} calls that both fixed"
        yield f"  {alone.text(2)} times, until it is fixed {to_fix.text(2)} times;"
        parts = ratio(ours, theirs, lambda r: r.wrong_parts)
        tries = ratio(ours, theirs, lambda r: r.wrong_tries)
        lost = difference(ours, theirs, lambda r: 100.0 * (not r.fixed))
        back = difference(ours, theirs, lambda r: 100.0 * r.call_back)
        if name != CLAIRVOYANT:
            yield f"  wrong parts {parts.text(2)} times, repairs for nothing {tries.text(2)} times;"
        yield f"  not fixed {lost.text(1)} more in a hundred, call-backs {back.text(1)} more."


def _robustness(study: Study) -> Iterator[str]:
    yield "## Departure by departure"
    yield ""
    yield "Promised is what the first step of the call was said to cost until a proven fix. A"
    yield f"departure with fewer than {FEWEST} calls has no row."
    yield ""
    rivals = [p for p in PRACTICE if any(p in found for found in study.plays.values())]
    heads = ["departure", "calls", "minutes", "times clairvoyant"]
    heads += [f"times {p}" for p in rivals]
    heads += [f"to the fix, times {p}" for p in rivals]
    heads += ["wrong parts / 100", "call-backs / 100", "not fixed / 100"]
    heads += ["promised, $", "actual, $", "actual / promised"]
    yield f"| {' | '.join(heads)} |"
    yield "|---" * len(heads) + "|"
    for departure in study.order():
        if len(study.pooled(departure)[0].get(OURS, {})) >= FEWEST:
            yield _robust_row(study, departure, rivals)
    yield ""
    yield from _outside(study)
    if NO_DEPARTURE in study.plays and OURS in study.plays[NO_DEPARTURE]:
        plays, _ = study.pooled(NO_DEPARTURE)
        yield from costs_lines(plays)
        yield ""
        yield from _accounts(plays, NO_DEPARTURE)


def _robust_row(study: Study, departure: str, rivals: Sequence[str]) -> str:
    plays, _ = study.pooled(departure)
    ours = list(plays[OURS].values())
    f = figures(ours)
    cells = [departure, str(f.calls), f"{f.minutes[0]:.0f}"]
    for name in (CLAIRVOYANT, *rivals):
        theirs = list(plays.get(name, {}).values())
        cells.append(ratio(ours, theirs, lambda r: r.minutes).text(2) if theirs else "")
    for name in rivals:
        theirs = list(plays.get(name, {}).values())
        cells.append(ratio(ours, theirs, lambda r: r.minutes_to_fix).text(2) if theirs else "")
    cells += [f"{x:.1f}" for x in (f.wrong_parts, f.call_backs, f.never_fixed)]
    cells += [f"{f.promised:.0f}", f"{f.dollars:.0f}", f"{f.dollars / f.promised:.2f}"]
    return f"| {' | '.join(cells)} |"


def _outside(study: Study) -> Iterator[str]:
    """Say how often "none of these" was concluded, where a root is not in the library."""
    for departure in study.order():
        ours = list(study.plays[departure][OURS].values())
        if any(r.outside for r in ours):
            yield f"{departure.capitalize()}:"
            yield from unknown_lines(ours)
            yield ""


def _by_setting(study: Study) -> Iterator[str]:
    for departure in (HEADLINE, NO_DEPARTURE):
        if departure not in study.plays:
            continue
        yield f"## System by system: {departure}"
        yield ""
        yield from _side_by_side(study, departure)
        for setting in study.settings(departure):
            plays, danger = study.of_setting(departure, setting)
            if OURS not in plays or not plays[OURS]:
                continue
            yield f"### {setting.replace('.', ': ')}"
            yield ""
            yield f"{len(plays[OURS])} calls; {danger} more ended with danger on the phone."
            yield ""
            yield from _table(plays)
            yield ""


def _side_by_side(study: Study, departure: str) -> Iterator[str]:
    """Yield catchpan's minutes and wrong parts beside the others', a row for each setting."""
    rivals = [p for p in (CLAIRVOYANT, *PRACTICE) if p in study.plays[departure]]
    yield f"| setting | calls | {' | '.join(f'minutes, times {p}' for p in rivals)} |"
    yield "|---" * (len(rivals) + 2) + "|"
    for setting in study.settings(departure):
        plays, _ = study.of_setting(departure, setting)
        if not plays.get(OURS) or any(p not in plays for p in rivals):
            continue
        ours = list(plays[OURS].values())
        cells = [ratio(ours, list(plays[p].values()), lambda r: r.minutes).text(2) for p in rivals]
        yield f"| {setting.replace('.', ': ')} | {len(ours)} | {' | '.join(cells)} |"
    yield ""


def _calibration(study: Study) -> Iterator[str]:
    yield "## Does a repair fix it as often as catchpan says"
    yield ""
    yield "A forecast for every repair that catchpan took: how likely it was to get the system to"
    yield "work, and whether it did. Own tables: worlds and answers drawn from what the planner"
    yield "takes for true."
    yield ""
    for departure in (OWN_TABLES, NO_DEPARTURE, HEADLINE):
        if departure in study.plays and OURS in study.plays[departure]:
            yield from _scores(study, departure)
    for departure in (NO_DEPARTURE, HEADLINE):
        if OURS in study.plays.get(departure, {}):
            yield from _scores_by_what_was_there(study, departure)
    yield "What it says of causes in field cases, and whether it is so: [FIELD.md](FIELD.md)."
    yield ""


def _scores(study: Study, departure: str) -> Iterator[str]:
    for first in (True, False):
        yield f"### {departure}: {'first repairs of a call' if first else 'all repairs'}"
        yield ""
        yield from _score_lines(forecast_score(study, departure, first=first))


def _scores_by_what_was_there(study: Study, departure: str) -> Iterator[str]:
    """Part the forecasts by how much was wrong: what one cause explains, and what it does not."""
    kinds: dict[str, Callable[[Record], bool]] = {
        "one condition there": lambda r: len(r.there) == 1 and not r.outside,
        "more than one": lambda r: len(r.there) > 1 and not r.outside,
        "a root outside the library": lambda r: r.outside,
    }
    for name, of in kinds.items():
        if any(r.forecasts for r in study.plays[departure][OURS].values() if of(r)):
            yield f"### {departure}: all repairs, {name}"
            yield ""
            yield from _score_lines(forecast_score(study, departure, first=False, of=of))


def _field_scores(study: Study) -> Iterator[str]:
    told = {leading: field_forecasts(study.folder, leading=leading) for leading in (True, False)}
    if not any(told.values()):
        return
    yield "# Field cases: does a cause lead as rightly as catchpan says"
    yield ""
    yield "Obtained with `python -m benchmarks.planner.calls field` and then `... report`. Share"
    yield "given to a cause from complaint and observations of the"
    yield "[field cases](../../field_cases/RESULTS.md), and whether it was the cause. Families are"
    yield "kept small for this."
    yield ""
    for leading, forecasts in told.items():
        yield f"## {'The leading cause' if leading else 'The first three causes'}"
        yield ""
        yield from _score_lines(score(forecasts))


def _score_lines(found: Score) -> Iterator[str]:
    yield "| said | forecasts | mean said | came true | off by, in standard errors |"
    yield "|---|---|---|---|---|"
    for b in found.bins:
        off = (b.came - b.said) / b.error
        span = f"{b.low:.2f} to {b.high:.2f}"
        yield f"| {span} | {b.count} | {b.said:.3f} | {b.came:.3f} | {off:+.1f} |"
    yield ""
    yield f"Brier score {found.brier:.4f} (reliability {found.reliability:.4f}, resolution"
    yield f"{found.resolution:.4f}, uncertainty {found.uncertainty:.4f}); log score"
    yield f"{found.log:.3f} nats (reliability {found.log_reliability:.3f}, resolution"
    yield f"{found.log_resolution:.3f}, uncertainty {found.log_uncertainty:.3f})."
    yield ""


def _lost(study: Study) -> Iterator[str]:
    habit = PRACTICE[0]
    for departure in (HEADLINE, NO_DEPARTURE):
        if departure in study.plays and habit in study.plays[departure]:
            plays, _ = study.pooled(departure)
            if not plays.get(OURS) or habit not in plays:
                continue
            pairs = [(plays[OURS][k], plays[habit][k], k[1]) for k in plays[OURS]]
            yield f"## Calls lost to {habit}: {departure}"
            yield ""
            yield from lost_lines(pairs)
            yield ""
