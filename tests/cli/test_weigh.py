"""`catchpan weigh`, run as a person or a script would."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from catchpan.diagnosis.cases import weigh as weighing_room
from catchpan.diagnosis.worlds.compile_family import Size
from catchpan.diagnosis.worlds.compiled import forget
from catchpan.units.errors import EXIT_BAD_INPUT, EXIT_CONFLICT, EXIT_USAGE
from tests.cli.json_schema import mismatches
from tests.cli.running import Done, command
from tests.diagnosis.small_catalog import SMALL, small_catalog
from tests.meta.source import ROOT

CASE = """\
schema: 1
complaint: "House is hot. Outdoor fan not spinning."
system:
  archetype: air-conditioner-furnace
  options: {location: attic, float_switch: none, aux_pan: none, blower: psc, disconnect: plain,
            metering: txv, thermostat_power: c_wire, ignition: hot_surface}
readings:
  - {check: complaint/no-cooling, answer: yes, by: caller}
  - {check: contactor/pulled-in, answer: yes}
  - {check: capacitor/herm-microfarad, value: 12, unit: µF}
"""
SCHEMA: dict[str, Any] = json.loads((ROOT / "docs" / "weigh.schema.json").read_text("utf-8"))


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("CATCHPAN_HOME", str(tmp_path / "home"))
    monkeypatch.setattr(weighing_room, "catalog", small_catalog)
    monkeypatch.setattr(weighing_room, "Size", lambda: SMALL)
    monkeypatch.setattr(weighing_room, "SMALL", Size(settings=2, pairs=10))


@pytest.fixture
def case(tmp_path: Path) -> Path:
    file = tmp_path / "case.yaml"
    file.write_text(CASE, encoding="utf-8")
    return file


def test_a_person_reads_causes_reasons_and_next_steps(
    case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    done = command(capsys, "weigh", str(case))
    assert done.code == 0
    assert done.err == ""
    for words in (
        "Air conditioner with gas furnace, not condensing",
        "Compressor capacitor weak",
        "None of these",
        "Why Compressor capacitor weak",
        "Run capacitor, compressor section: 12.0 µF",
        "Latent defects",
        "Next",
        "1. ",
    ):
        assert words in done.out
    assert "\x1b" not in done.out
    assert max(map(len, done.out.splitlines())) <= 100


def test_every_field_of_the_json_is_in_the_schema(
    case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    done = command(capsys, "weigh", str(case), "--json", "--complaint")
    assert done.code == 0
    data = json.loads(done.out)
    assert mismatches(SCHEMA, data) == []
    assert data["ranking"][0]["id"] == "capacitor/herm-weak"
    assert data["complaint_read_as"]
    assert data["steps"]


def test_the_schema_notices_what_does_not_follow_it(
    case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = json.loads(command(capsys, "weigh", str(case), "--json").out)
    data["ranking"][0]["share"] = 1.5
    data["steps"][0]["kind"] = "jump"
    del data["cut_mass"]
    data["extra"] = 1
    assert len(mismatches(SCHEMA, data)) == 4


def test_the_json_of_readings_in_doubt_follows_the_schema_too() -> None:
    doubt = {"entries": [1], "words": ["a"], "repeat": None}
    assert mismatches({**SCHEMA["$defs"]["doubt"], "$defs": SCHEMA["$defs"]}, doubt) == []


def test_top_limits_the_causes_and_why_explains_each(
    case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = json.loads(command(capsys, "weigh", str(case), "--json", "--top", "2").out)
    assert len(data["ranking"]) == 2
    done = command(capsys, "weigh", str(case), "--top", "2", "--why")
    assert sum(line.startswith("Why ") for line in done.out.splitlines()) == 2


def test_the_complaint_counts_only_when_asked(
    case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    without = command(capsys, "weigh", str(case)).out
    with_it = command(capsys, "weigh", str(case), "--complaint").out
    assert "is taken to mean" not in without
    assert "'Outdoor fan not spinning' is taken to mean: Outdoor fan does not turn" in with_it


def test_a_case_may_come_on_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], case: Path
) -> None:
    with case.open(encoding="utf-8") as file:
        monkeypatch.setattr(sys, "stdin", file)
        done = command(capsys, "weigh", "-")
    assert done.code == 0
    assert "Compressor capacitor weak" in done.out


def broken(capsys: pytest.CaptureFixture[str], tmp_path: Path, text: str) -> Done:
    file = tmp_path / "broken.yaml"
    file.write_text(text, encoding="utf-8")
    return command(capsys, "weigh", str(file))


def test_bad_input_is_told_without_a_traceback(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    done = broken(capsys, tmp_path, CASE.replace("12, unit: µF", "12, unit: V"))
    assert done.code == EXIT_BAD_INPUT
    assert "broken.yaml · readings 3 · value" in done.err
    assert "voltage, not a capacitance" in done.err
    assert "Traceback" not in done.err
    assert done.out == ""


def test_contradictions_have_an_exit_code_of_their_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = CASE.replace("air-conditioner-furnace", "heat-pump-air-handler")
    done = broken(capsys, tmp_path, text)
    assert done.code == EXIT_CONFLICT
    assert "ignition" in done.err


def test_a_file_that_is_not_there_is_bad_input(capsys: pytest.CaptureFixture[str]) -> None:
    done = command(capsys, "weigh", "no-such-file.yaml")
    assert done.code == EXIT_BAD_INPUT
    assert "cannot be read" in done.err


def test_wrong_use_is_told_with_the_usage(capsys: pytest.CaptureFixture[str]) -> None:
    done = command(capsys, "weigh")
    assert done.code == EXIT_USAGE
    assert "Usage:" in done.err


def test_the_second_start_finds_the_family_on_its_shelf(
    case: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    forget()
    command(capsys, "weigh", str(case))
    folder = tmp_path / "home" / "cache" / "families"
    assert [file.suffix for file in folder.iterdir()] == [".npz"]


def test_the_command_is_installed() -> None:
    program = Path(sys.executable).parent / "catchpan"
    done = subprocess.run([program, "weigh", "--help"], capture_output=True, text=True, check=True)
    assert "--json" in done.stdout
