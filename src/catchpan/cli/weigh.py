"""`catchpan weigh`: a case from a file, weighed."""

import json
import sys
from collections.abc import Sequence
from pathlib import Path

import click

from catchpan.catalog.load import catalog
from catchpan.cli.present import Sheet, percent, times
from catchpan.cli.shelf import family_shelf
from catchpan.cli.weigh_json import weighing_json
from catchpan.diagnosis.cases.case import Case, case_from_text, read_case
from catchpan.diagnosis.cases.symptom_search import Match, sure_matches
from catchpan.diagnosis.cases.target_words import targets_heading, targets_lines
from catchpan.diagnosis.cases.weigh import weigh as weigh_case
from catchpan.diagnosis.cases.weighing import Cause, NextStep, Weighing
from catchpan.diagnosis.inference.belief import Reading

STRONGEST = 2
FEW = 3


@click.command()
@click.argument("case", metavar="CASE")
@click.option("--json", "as_json", is_flag=True, help="Write JSON (see docs/weigh.md).")
@click.option("--top", default=8, show_default=True, type=click.IntRange(min=1), help="Causes.")
@click.option("--why", is_flag=True, help="Show what every reading says about each cause.")
@click.option("--complaint", is_flag=True, help="Let the caller's words count as readings.")
def weigh(case: str, as_json: bool, top: int, why: bool, complaint: bool) -> None:
    """Weigh CASE, a YAML or JSON file ('-' for standard input).

    Prints the likely causes with their shares and reasons, what does not fit together, latent
    defects, and the next steps with what each answer would mean. docs/weigh.md describes the file;
    'catchpan catalog checks' lists what can be read and answered.
    """
    found = _read(case)
    matches = _matches(found) if complaint else ()
    readings = [Reading(m.check_id, outcome_id=m.answer_id, reporter="caller") for m in matches]
    weighing = weigh_case(found.with_readings(readings), shelf=family_shelf())
    if as_json:
        click.echo(json.dumps(weighing_json(weighing, matches, top), indent=2, allow_nan=False))
    else:
        show(weighing, matches, top, why)


def _read(name: str) -> Case:
    if name != "-":
        return read_case(Path(name))
    text = sys.stdin.buffer.read().decode("utf-8-sig", "replace")
    return case_from_text(text, "standard input", catalog())


def _matches(case: Case) -> tuple[Match, ...]:
    only = case.systems[0][0].archetype if len(case.systems) == 1 else ""
    answered = {e.check_id for e in case.history if isinstance(e, Reading)}
    return tuple(
        m for m in sure_matches(case.complaint, archetype=only) if m.check_id not in answered
    )


def show(weighing: Weighing, matches: Sequence[Match], top: int, why: bool) -> None:
    """Write a weighing for people."""
    sheet = Sheet()
    for system in weighing.systems:
        share = f"  {percent(system.share)}" if len(weighing.systems) > 1 else ""
        sheet.line(f"{system.title}{share}")
    for note in weighing.notes:
        sheet.line(f"note: {note}")
    for match in matches:
        sheet.line(f"{match.words!r} is taken to mean: {match.title}: {match.label}")
    _show_causes(sheet, weighing, top)
    _show_repairs(sheet, weighing)
    _show_reasons(sheet, weighing.ranking[: top if why else 1], None if why else STRONGEST)
    _show_targets(sheet, weighing)
    _show_rest(sheet, weighing)
    _show_steps(sheet, weighing.steps)


def _show_causes(sheet: Sheet, weighing: Weighing, top: int) -> None:
    sheet.heading("Causes")
    rows = [(percent(c.share), c.title, c.component, c.id) for c in weighing.ranking[:top]]
    others = len(weighing.ranking) - top
    if others > 0:
        rows.append(("", f"... and {others} less likely ones", "", ""))
    rows.append((percent(weighing.none_of_these), "None of these", "", "none-of-these"))
    rows.append((percent(weighing.no_fault), "Nothing wrong", "", "no-fault"))
    sheet.table(("share", "cause", "part", "id"), rows, right=(0,), whole=(3,))
    parts = ", ".join(f"{p.title} {percent(p.share)}" for p in weighing.parts[:FEW])
    sheet.line(f"By part: {parts}")
    if weighing.several > 0.02:
        pairs = "; ".join(f"{' + '.join(p.titles)} {percent(p.share)}" for p in weighing.pairs[:2])
        sheet.line(f"Two at once: {percent(weighing.several)}, likeliest {pairs}")


def _show_repairs(sheet: Sheet, weighing: Weighing) -> None:
    sheet.heading("What would put it right")
    rows = [(percent(g.share), g.title, g.id) for g in weighing.repairs]
    sheet.table(("share", "repair", "id"), rows, right=(0,), whole=(2,))


def _show_reasons(sheet: Sheet, causes: Sequence[Cause], most: int | None) -> None:
    for cause in causes:
        if not cause.speaks:
            continue
        sheet.heading(f"Why {cause.title}")
        rows = [(str(s.entry), s.words, times(s.log_odds)) for s in cause.speaks[:most]]
        sheet.table(("entry", "reading", "says"), rows, right=(0,))


def _show_targets(sheet: Sheet, weighing: Weighing) -> None:
    if weighing.targets is not None:
        sheet.heading("Targets today")
        sheet.line(targets_heading(weighing.targets))
        for line in targets_lines(weighing.targets):
            sheet.line(line, indent=2)


def _show_rest(sheet: Sheet, weighing: Weighing) -> None:
    if weighing.doubt is not None:
        sheet.heading("These readings do not fit together")
        for number, words in zip(weighing.doubt.entries, weighing.doubt.words, strict=True):
            again = "  <- cheapest to repeat" if number == weighing.doubt.repeat else ""
            sheet.line(f"{number}  {words}{again}", indent=2)
    left = [c for c in weighing.consequences if c.share >= 0.2][:5]
    if left:
        sheet.heading("Left behind by it")
        sheet.table(("share", "what"), [(percent(c.share), c.title) for c in left], right=(0,))
    if weighing.latent:
        sheet.heading("Latent defects")
        for defect in weighing.latent:
            sheet.line(f"{percent(defect.share)}  {defect.title}", indent=2)
    if weighing.options:
        sheet.heading("How it may be built")
        rows = [(o.title, _values(o.values)) for o in weighing.options]
        sheet.table(("option", "values"), rows)
    if weighing.set_aside:
        sheet.heading("Set aside: this system has no such thing")
        for number, words in weighing.set_aside.items():
            sheet.line(f"{number}  {words}", indent=2)
    if weighing.cut_mass > 0.001:
        sheet.line()
        sheet.line(
            f"Not listed one by one: ways of being built taken together and pairs of faults, each "
            f"rare, of all there could be {percent(weighing.cut_mass)}. Every option and every "
            f"fault by itself keeps its share; an answer about one brings the rest back."
        )


def _values(values: Sequence[object]) -> str:
    pairs = [(getattr(v, "id", ""), getattr(v, "probability", 0.0)) for v in values]
    return ", ".join(f"{name} {percent(share)}" for name, share in pairs)


def _show_steps(sheet: Sheet, steps: Sequence[NextStep]) -> None:
    if steps:
        sheet.heading("Next")
    for number, step in enumerate(steps, start=1):
        price = (
            f"${step.dollars:.0f} now, about ${step.dollars + step.dollars_after:.0f} to the fix"
        )
        where = f", at: {step.place.replace('_', ' ')}" if step.place else ""
        sheet.line(f"{number}. {step.title} ({step.kind}{where}; {price})")
        for line in step.why:
            sheet.line(line, indent=3)
        for line in step.answers:
            sheet.line(f"- {line}", indent=3)
        for line in step.cautions:
            sheet.line(f"Caution: {line}", indent=3)
