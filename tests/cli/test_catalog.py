"""`catchpan catalog`: everything a case may name, with answers and units."""

import json

import pytest

from catchpan.catalog.load import catalog
from catchpan.diagnosis.cases.case import read_case
from catchpan.units.errors import EXIT_BAD_INPUT, EXIT_USAGE
from tests.cli.running import command


@pytest.mark.parametrize("what", ["systems", "faults", "checks", "repairs"])
def test_every_entry_is_listed_once(what: str, capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(command(capsys, "catalog", what, "--json").out)
    known = catalog()
    wanted = {
        "systems": set(known.archetypes),
        "faults": set(known.faults),
        "checks": {*known.checks, *known.proofs},
        "repairs": set(known.repairs),
    }
    assert data["schema"] == 1
    listed = [row["id"] for row in data[what]]
    assert len(listed) == len(set(listed))
    assert set(listed) == wanted[what]


@pytest.mark.parametrize("what", ["systems", "faults", "checks", "repairs"])
def test_a_person_reads_every_id(what: str, capsys: pytest.CaptureFixture[str]) -> None:
    done = command(capsys, "catalog", what)
    assert done.code == 0
    joined = "".join(done.out.split())
    for row in json.loads(command(capsys, "catalog", what, "--json").out)[what]:
        assert row["id"] in joined


def test_every_answer_that_is_listed_is_accepted_in_a_case(
    capsys: pytest.CaptureFixture[str],
) -> None:
    checks = json.loads(command(capsys, "catalog", "checks", "--json").out)["checks"]
    pairs = [(c["id"], a) for c in checks if "option/" not in c["id"] for a in c["answers"]]
    lines = "".join(f"  - {{check: {check}, answer: {answer}}}\n" for check, answer in pairs)
    case = read_case(f"schema: 1\nsystem: {{season: cooling}}\nreadings:\n{lines}")
    assert len(case.history) == len(pairs) > 300


def test_every_check_has_answers_or_a_unit(capsys: pytest.CaptureFixture[str]) -> None:
    checks = json.loads(command(capsys, "catalog", "checks", "--json").out)["checks"]
    assert [c["id"] for c in checks if not c["answers"] and not c["unit"]] == []


def test_a_search_wants_all_the_words(capsys: pytest.CaptureFixture[str]) -> None:
    done = command(capsys, "catalog", "faults", "--search", "capacitor weak", "--json")
    found = json.loads(done.out)["faults"]
    assert "capacitor/herm-weak" in {f["id"] for f in found}
    assert all("capacitor" in json.dumps(f) and "weak" in json.dumps(f) for f in found)
    assert "no faults found" in command(capsys, "catalog", "faults", "--search", "qqq").out


def test_an_archetype_leaves_out_what_only_others_have(
    capsys: pytest.CaptureFixture[str],
) -> None:
    arguments = ("catalog", "faults", "--archetype", "heat-pump-air-handler", "--json")
    found = json.loads(command(capsys, *arguments).out)["faults"]
    bound = {
        f.id
        for f in catalog().faults.values()
        if f.archetypes and "heat-pump-air-handler" not in f.archetypes
    }
    assert bound
    assert bound & {f["id"] for f in found} == set()


def test_an_unknown_archetype_is_told_with_what_was_meant(
    capsys: pytest.CaptureFixture[str],
) -> None:
    done = command(capsys, "catalog", "checks", "--archetype", "heat-pump-airhandler")
    assert done.code == EXIT_BAD_INPUT
    assert "did you mean 'heat-pump-air-handler'" in done.err


def test_an_unknown_list_is_wrong_use(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(capsys, "catalog", "brands").code == EXIT_USAGE
