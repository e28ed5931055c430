"""The catalog as a phone keeps it: complete, and numbers are entered as here."""

import json
import re

import pytest

from catchpan.calls.carried.catalog_file import catalog_file
from catchpan.catalog.load import catalog
from catchpan.diagnosis.cases.measured_value import (
    answer_of_value,
    read_value,
    sensible,
    takes_a_number,
)
from catchpan.diagnosis.cases.symptom_words import REWRITES, words

FILE = catalog_file(catalog())
CHECKS = {check["id"]: check for check in FILE["checks"]}


def test_it_is_json_and_holds_every_entry() -> None:
    assert json.loads(json.dumps(FILE, allow_nan=False))["catalog"] == FILE["catalog"]
    data = catalog()
    for kind in ("archetypes", "places", "checks", "repairs", "proofs", "faults", "hazards"):
        assert {entry["id"] for entry in FILE[kind]} == set(getattr(data, kind)), kind


@pytest.mark.parametrize("value", [-3.0, 0.0, 0.4, 12.0, 26.8, 118.0])
def test_a_number_is_kept_as_here(value: float) -> None:
    compared = 0
    for entry in catalog().checks.values():
        number = CHECKS[entry.id]["number"]
        assert (number is not None) == takes_a_number(entry)
        if number is None:
            continue
        for unit in number["units"]:
            si = value * unit["scale"] + unit["zero"]
            low, high = sensible(entry)
            assert (low <= si <= high) == (
                number["low"] <= si and (number["high"] is None or si <= number["high"])
            )
            if low <= si <= high:
                kept = si * number["factor"] + number["offset"]
                assert kept == pytest.approx(read_value(entry, value, unit["name"]), rel=1e-12)
                found = [
                    a["id"]
                    for a in CHECKS[entry.id]["answers"]
                    if (a["low"] is None or kept >= a["low"])
                    and (a["high"] is None or kept < a["high"])
                ]
                assert found[0] == answer_of_value(entry, kept)
                compared += 1
    assert compared > (100 if value >= 0.0 else 30)


def test_a_danger_has_its_kind_and_the_kind_its_words() -> None:
    dangers = [
        (check, answer["id"])
        for check in FILE["checks"]
        for answer in check["answers"]
        if answer["danger"]
    ]
    assert len(dangers) > 5
    for check, answer in dangers:
        assert FILE["words"]["danger"][check["danger_kinds"][answer]]


def test_resets_carry_their_answers_and_options_what_they_settle() -> None:
    resets = [c for c in FILE["checks"] if c["quantity"] == "reset"]
    assert resets
    assert all(len(check["answers"]) > 1 for check in resets)
    assert any(check["settles"] for check in FILE["checks"])


def test_two_questions_in_other_words_look_at_the_same() -> None:
    assert CHECKS["drain/water-in-primary-pan"]["looks_at"] is not None
    looked = [c["looks_at"] for c in FILE["checks"] if c["looks_at"] is not None]
    assert len(set(looked)) < len(looked)


def test_words_can_be_read_by_the_rules_alone() -> None:
    """What a browser does with the rules: the same words come out."""
    rules = FILE["symptoms"]
    assert len(rules["rewrites"]) == len(REWRITES)
    said = "The A/C won't start and the thing outside doesn't spin"
    plain = said.casefold()
    for pattern, instead in rules["rewrites"]:
        plain = re.sub(pattern, instead.replace("$", "\\"), plain)
    kept = [
        w
        for w in re.findall(r"[a-z0-9]+", plain)
        if w not in rules["stop"] or w in rules["denials"]
    ]
    assert [rules["same"].get(w, w) for w in kept] == list(words(said))


def test_a_proof_of_the_running_circuit_says_what_it_reads() -> None:
    quantities = {e.id: e.observe for e in catalog().proofs.values()}
    of_circuit = {p["id"]: p["circuit"] for p in FILE["proofs"] if p["circuit"] is not None}
    assert of_circuit == {
        name: {"demand": look.demand, "of": look.of}
        for name, look in quantities.items()
        if look.quantity == "cycle"
    }
    assert of_circuit
