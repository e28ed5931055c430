"""The command that prints the wiring."""

import pytest

from tests.cli.running import command

SYSTEM = "air-conditioner-condensing-furnace"


def test_a_ladder_is_printed_in_eighty_columns(capsys: pytest.CaptureFixture[str]) -> None:
    done = command(capsys, "ladder", SYSTEM)
    assert done.code == 0
    assert "Control circuit, 24 V" in done.out
    assert "contactor coil" in done.out
    assert max(map(len, done.out.splitlines())) <= 80


def test_a_fault_marks_what_it_changes(capsys: pytest.CaptureFixture[str]) -> None:
    done = command(capsys, "ladder", SYSTEM, "--fault", "low-voltage/y-open")
    marked = [line for line in done.out.splitlines() if line.endswith("<")]
    assert any("thermostat cable, Y" in line and "closed>open" in line for line in marked)


def test_an_option_and_a_demand_are_taken(capsys: pytest.CaptureFixture[str]) -> None:
    done = command(capsys, "ladder", SYSTEM, "-o", "float_switch=none", "-d", "heat")
    assert "drain float switch" not in done.out
    assert "Where the drain's float switch is wired: None" in done.out


@pytest.mark.parametrize(
    "arguments",
    [
        ("no-such-system",),
        (SYSTEM, "--fault", "no/such"),
        (SYSTEM, "--option", "blower"),
        (SYSTEM, "--option", "blower=steam"),
        (SYSTEM, "--option", "wings=two"),
        (SYSTEM, "--demand", "dance"),
    ],
)
def test_bad_words_are_named(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]
) -> None:
    done = command(capsys, "ladder", *arguments)
    assert done.code in {3, 5}
    assert done.err.startswith("catchpan: ")
    assert "Traceback" not in done.err
