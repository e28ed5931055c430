"""`catchpan catalog`: the ids a case may use, with their answers and units."""

import json
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final

import click

from catchpan.catalog.entry import CheckEntry, FaultEntry, ProofEntry
from catchpan.catalog.load import Catalog
from catchpan.catalog.load import catalog as shipped
from catchpan.catalog.system import archetype as archetype_entry
from catchpan.catalog.system import options_of
from catchpan.cli.present import Sheet
from catchpan.diagnosis.cases.case import PROOF_RESULTS, allowed_answers
from catchpan.diagnosis.cases.measured_value import takes_a_number

SCHEMA: Final = 1

Row = dict[str, Any]


def systems(data: Catalog, kind: str) -> list[Row]:
    """Return the archetypes with their options and the values of each."""
    return [_system(name, data) for name in data.archetypes if kind in {"", name}]


def _system(name: str, data: Catalog) -> Row:
    options = options_of(name, data)
    entry = data.archetypes[name]
    return {
        "id": name,
        "title": entry.title,
        "summary": entry.summary,
        "options": {o: [v.id for v in option.values] for o, option in options.items()},
        "questions": {o: option.question for o, option in options.items()},
    }


def faults(data: Catalog, kind: str) -> list[Row]:
    """Return the faults that are not bound to another kind of system."""
    return [_fault(f) for f in data.faults.values() if _can_be_in(f.archetypes, kind)]


def _fault(fault: FaultEntry) -> Row:
    return {
        "id": fault.id,
        "title": fault.title,
        "plain": fault.plain,
        "kind": fault.kind,
        "family": fault.family,
        "component": fault.component,
        "calls_per_1000": fault.rate.value if fault.rate is not None else None,
    }


def checks(data: Catalog, kind: str) -> list[Row]:
    """Return the checks and proofs that are not bound to another kind of system."""
    found = [_check(c, data) for c in data.checks.values() if _can_be_in(c.archetypes, kind)]
    return found + [_proof(p) for p in data.proofs.values()]


def _check(check: CheckEntry, data: Catalog) -> Row:
    return {
        "id": check.id,
        "title": check.title,
        "ask": check.ask,
        "place": check.place,
        "phone": check.phone,
        "unit": check.unit if takes_a_number(check) else "",
        "answers": list(allowed_answers(check, data)),
        "labels": {a.id: a.label for a in check.answers},
    }


def _proof(proof: ProofEntry) -> Row:
    return {
        "id": proof.id,
        "title": proof.title,
        "ask": proof.how[0],
        "place": proof.place,
        "phone": False,
        "unit": "",
        "answers": list(PROOF_RESULTS),
        "labels": {},
    }


def repairs(data: Catalog, kind: str) -> list[Row]:
    """Return the repairs."""
    del kind  # a repair belongs to no kind of system
    return [
        {
            "id": r.id,
            "title": r.title,
            "place": r.place,
            "fixes": list(r.fixes),
            "proofs": list(r.proofs),
            "refer": r.refer,
        }
        for r in data.repairs.values()
    ]


def _can_be_in(archetypes: Sequence[str], kind: str) -> bool:
    return not kind or not archetypes or kind in archetypes


LISTS: Final[dict[str, Callable[[Catalog, str], list[Row]]]] = {
    "systems": systems,
    "faults": faults,
    "checks": checks,
    "repairs": repairs,
}


@click.command()
@click.argument("what", type=click.Choice(list(LISTS)))
@click.option("--archetype", default="", metavar="ID", help="Only what this system can have.")
@click.option("--search", default="", metavar="WORDS", help="Only where all the words occur.")
@click.option("--json", "as_json", is_flag=True, help="Write JSON.")
def catalog(what: str, archetype: str, search: str, as_json: bool) -> None:
    """List WHAT can be named in a case: systems with their options, faults, checks, repairs.

    Each check comes with its allowed answers, or the unit its value is read in; every check may
    also be answered with 'unknown', or with 'absent' where the system has no such thing.
    """
    data = shipped()
    if archetype:
        archetype_entry(archetype, data)
    rows = _having(search, LISTS[what](data, archetype))
    if as_json:
        click.echo(json.dumps({"schema": SCHEMA, what: rows}, indent=2, ensure_ascii=False))
    elif what == "systems":
        _show_systems(rows, data)
    else:
        _show(what, rows)


def _having(search: str, rows: Iterable[Row]) -> list[Row]:
    wanted = search.casefold().split()
    return [
        r for r in rows if all(w in json.dumps(r, ensure_ascii=False).casefold() for w in wanted)
    ]


def _show_systems(rows: Sequence[Row], data: Catalog) -> None:
    sheet = Sheet()
    for row in rows:
        sheet.heading(f"{row['id']}  -  {row['title']}")
        sheet.line(row["summary"], indent=2)
        options = options_of(row["id"], data)
        lines = [(o, row["questions"][o], _values(options[o].values)) for o in row["options"]]
        sheet.table(("option", "question", "values"), lines)


def _values(values: Iterable[Any]) -> str:
    return "\n".join(f"{v.id}: {v.title}" for v in values)


def _show(what: str, rows: Sequence[Row]) -> None:
    sheet = Sheet()
    if not rows:
        sheet.line(f"no {what} found")
        return
    match what:
        case "faults":
            heads: Sequence[str] = ("id", "kind", "title", "calls per 1,000")
            cells = [(r["id"], r["kind"], r["title"], _rate(r["calls_per_1000"])) for r in rows]
        case "checks":
            heads = ("id", "title", "answers or unit")
            cells = [(r["id"], r["title"], _answers(r), "") for r in rows]
        case _:
            heads = ("id", "title", "puts right")
            cells = [(r["id"], r["title"], ", ".join(r["fixes"]), "") for r in rows]
    sheet.table(heads, [row[: len(heads)] for row in cells], whole=(0,))
    sheet.line(f"{len(rows)} {what}")


def _rate(rate: float | None) -> str:
    return f"{rate:g}" if rate is not None else ""


def _answers(row: Row) -> str:
    words = ", ".join(row["answers"])
    return f"value in {row['unit']}; or {words}" if row["unit"] else words
