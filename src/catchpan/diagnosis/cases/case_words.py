"""What was observed or tried, in words."""

from catchpan.catalog.load import Catalog
from catchpan.catalog.system import options_of
from catchpan.diagnosis.cases.case import Entry, Tried
from catchpan.diagnosis.cases.measured_value import write_value
from catchpan.diagnosis.inference.belief import Reading
from catchpan.diagnosis.worlds.family import CheckModel
from catchpan.diagnosis.worlds.likelihood import RESET_LABELS, RESET_OUTCOMES

OUTCOME = {True: "works now", False: "still fails", None: "result unknown"}


def words_of(entry: Entry, data: Catalog, model: CheckModel | None = None) -> str:
    """Write an entry for people: the title of the check or repair, and what came of it."""
    if isinstance(entry, Tried):
        return f"{data.repairs[entry.repair_id].title}: {OUTCOME[entry.worked]}"
    told = " (caller)" if entry.reporter == "caller" else ""
    return f"{_title(entry, data)}: {_answer(entry, data, model)}{told}"


def _title(reading: Reading, data: Catalog) -> str:
    if reading.check_id in data.checks:
        return data.checks[reading.check_id].title
    return data.proofs[reading.check_id].title


def _answer(reading: Reading, data: Catalog, model: CheckModel | None) -> str:
    if reading.value_si is not None:
        return write_value(data.checks[reading.check_id], reading.value_si)
    found = [o.label for o in model.outcomes if o.id == reading.outcome_id] if model else []
    return found[0] if found else answer_label(reading, data)


def answer_label(reading: Reading, data: Catalog) -> str:
    """Return the label of an answer as the catalog has it."""
    labels = dict(zip(RESET_OUTCOMES, RESET_LABELS, strict=True))
    check = data.checks.get(reading.check_id)
    if check is not None:
        labels |= {a.id: a.label for a in check.answers}
        if check.observe.quantity == "option":
            labels |= _option_titles(check.observe.of, data)
    answer = str(reading.outcome_id)
    return labels.get(answer, answer.replace("-", " "))


def _option_titles(option: str, data: Catalog) -> dict[str, str]:
    every = (options_of(kind, data).get(option) for kind in data.archetypes)
    return {v.id: v.title for o in every if o is not None for v in o.values}
