"""A call in the terminal: asked, answered, kept, left and resumed."""

import random
import string
from dataclasses import replace
from pathlib import Path

import pytest

from catchpan.calls.advice import what_to_do
from catchpan.calls.progress import SITE
from catchpan.calls.use_case import Answer, Number
from catchpan.cli.call import run
from catchpan.cli.interview import told_dangers
from catchpan.cli.main import COMMANDS as MAIN
from catchpan.cli.screen import Asked
from catchpan.cli.visit import _targets, conflict
from catchpan.diagnosis.inference.conflict import Conflict, Suspect
from catchpan.diagnosis.worlds.family import Family
from tests.calls.one_home import OPTIONS
from tests.cli.one_session import described_session, new_session, session_of, typed
from tests.cli.running import command

FIRST = ["0", "The outdoor fan is not turning", "2", "1", "3", "11", "Ann", "12 Oak"]


def test_the_first_questions_are_kept_one_by_one() -> None:
    for count in range(len(FIRST) + 1):
        session = new_session(typed(FIRST[:count]), [])
        run(session)
        opened = session.state.opened
        assert ("dangers_asked" in opened.site) == (count >= 1)
        assert (opened.complaint_words is not None) == (count >= 2)
        assert (session.state.archetype is not None) == (count >= 3)
        assert (opened.site.get("age_years") == 11.0) == (count >= 6)
        assert (opened.address is not None) == (count >= 8)


def test_leaving_says_how_to_resume() -> None:
    written: list[str] = []
    run(new_session(typed([]), written))
    assert written[-1].strip() == "catchpan call --resume c1"


def test_everything_may_be_unknown() -> None:
    written: list[str] = []
    session = new_session(typed(["0", "", "?", "?", "3", "?", "", "", ""]), written)
    run(session)
    opened = session.state.opened
    assert session.state.archetype is not None
    assert opened.site["age_years"] == "unknown"
    assert opened.site["season"] == "unknown"
    assert session.state.description["location"] == "unknown"


def never(_: object) -> Family:
    """Stand for a compiler that must not be needed."""
    raise AssertionError("compiled before the danger was dealt with")


@pytest.mark.parametrize("number", range(1, 8))
def test_every_danger_stops_before_anything_else_is_asked_or_compiled(number: int) -> None:
    written: list[str] = []
    session = new_session(typed([str(number)]), written)
    session.kit = replace(session.kit, make=never)
    run(session)
    (told,) = told_dangers(session)
    advice = what_to_do([told])
    text = " ".join(" ".join(written).split())
    assert "-- STOP" in text
    assert all(line in text for line in advice)
    assert "What is wrong" not in text
    assert session.state.opened.complaint_words is None


def test_a_danger_told_is_shown_again_when_the_call_is_resumed() -> None:
    session = new_session(typed(["1"]), [])
    run(session)
    written: list[str] = []
    run(session_of(session.book, typed([]), written))
    assert "-- STOP" in "\n".join(written)
    assert "What is wrong" not in "\n".join(written)


def test_a_danger_can_be_taken_back_made_safe_or_dealt_with() -> None:
    states = []
    for choice in ("1", "2", "3"):
        session = new_session(typed(["1", choice]), [])
        session.kit = replace(session.kit, make=never)
        run(session)
        states.append(session.state)
        assert told_dangers(session) == () or choice == "2"
    mistaken, closed, cleared = states
    assert "safety/gas-smell" not in [e.body.check_id for e in mistaken.readings]
    assert closed.closed is not None
    assert closed.closed.outcome == "made_safe"
    assert cleared.opened.site["cleared:safety/gas-smell"] is True


def test_a_call_goes_on_after_a_danger_taken_back() -> None:
    written: list[str] = []
    session = new_session(typed(["1", "1", *FIRST[1:4], *FIRST[5:]]), written)
    session.book.describe("c1", OPTIONS)
    run(session)
    assert session.state.opened.address == "12 Oak"
    assert "working out what could be wrong" in "\n".join(written)


def test_a_step_shows_cautions_expectation_and_what_answers_mean() -> None:
    written: list[str] = []
    session = described_session(typed(["find capacitor fan section", "1", "0"]), written)
    session.book.go("c1", SITE)
    run(session)
    text = "\n".join(written)
    assert "-- Step 1" in text
    assert "then foremost:" in text
    assert "CAUTION" in text
    assert all(len(line) <= 80 for line in written)


def test_a_number_is_kept_with_its_unit_and_moves_the_call_on() -> None:
    written: list[str] = []
    lines = ["find capacitor fan section", "1", "no number", "5 psi", "0.3", "none", "7.5", "quit"]
    session = described_session(typed(lines), written)
    session.book.go("c1", SITE)
    run(session)
    reading = session.state.readings[-1].body
    assert (reading.check_id, reading.value, reading.unit) == (
        "capacitor/fan-microfarad",
        0.3,
        "µF",
    )
    assert reading.si_value == pytest.approx(0.3e-6)
    assert reading.printed == 7.5
    assert "4% of what is printed." in written
    assert any("psi" in line and "capacitance" in line for line in written)


@pytest.mark.parametrize(
    "line",
    [
        "why",
        "causes",
        "ladder",
        "ladder heat",
        "ladder line",
        "ladder nonsense",
        "help",
        "trail",
        "note the dog bites",
        "note",
        "undo",
        "later too dark",
        "now",
        "power off",
        "power maybe",
        "find",
        "find qqqq",
        "system",
        "edit",
    ],
)
def test_every_command_works_at_a_step(line: str) -> None:
    written: list[str] = []
    session = described_session(typed([line, "0", "quit"]), written)
    session.book.go("c1", SITE)
    run(session)
    assert any("--resume c1" in text for text in written)
    assert all(len(text) <= 80 for text in written)


def test_a_note_and_a_deferral_are_kept() -> None:
    session = described_session(typed(["note behind the shed", "later too dark"]), [])
    session.book.go("c1", SITE)
    run(session)
    assert session.state.notes[0].body.text == "behind the shed"
    assert list(session.state.deferred.values()) == ["too dark"]


def test_undo_takes_back_the_last_answer() -> None:
    session = described_session(typed(["later", "undo"]), [])
    session.book.go("c1", SITE)
    run(session)
    assert not session.state.deferred


def test_readings_that_do_not_fit_are_said_and_the_cheapest_is_repeated() -> None:
    written: list[str] = []
    session = described_session(typed(["1", "2"]), written)
    session.book.go("c1", SITE)
    session.book.take_reading("c1", "capacitor/fan-microfarad", Number(5.0, "µF", 5.0e-6))
    session.book.take_reading("c1", "complaint/thermostat-blank", Answer("blank"))
    readings = session.guide.belief.readings
    suspects = tuple(Suspect(i, r, 3.0, 3.0, (1 - i,), 9.0 - i) for i, r in enumerate(readings))
    assert conflict(session, Conflict(9.0, 1.0, suspects, suspects[1]))
    text = "\n".join(written)
    assert "These readings do not fit together" in text
    assert "Run capacitor, fan section: 5 µF" in text
    assert "Cheapest to repeat: Thermostat blank" in text
    kept = [(e.body.check_id, e.body.answer) for e in session.state.readings]
    assert kept == [("capacitor/fan-microfarad", None), ("complaint/thermostat-blank", "lit")]


def _noise(chance: random.Random) -> str:
    words = [
        "1", "2", "3", "4", "9", "0", "?", "go", "a", "b", "24 V", "OL", "0.5", "-3", "1e400",
        "why", "causes", "ladder", "later", "now", "undo", "find fan", "note x", "system", "edit",
        "power on", "power off", "trail", "help", "", " ", "nan", "24 psi", "12,5", "\x00", "°F",
        "\u0661", "🔥", "x" * 5000, "all", "none", "1 2 3", "--", "\t", "NULL", "../x", "{}", "%s",
    ]  # fmt: skip
    odd = "".join(chance.choices(string.printable, k=8)).strip()
    return chance.choice([*words, odd])


@pytest.mark.parametrize("seed", range(4))
def test_no_line_whatever_brings_it_down(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 - noise, nothing secret
    written: list[str] = []
    lines = [_noise(chance) for _ in range(60)]
    session = described_session(typed(lines), written) if seed % 2 else new_session(
        typed(lines), written
    )  # fmt: skip
    if seed % 2:
        session.book.go("c1", SITE)
    run(session)
    assert written[-1].strip().startswith(("catchpan call --resume", "Call c1 is closed"))
    assert not any("Traceback" in line for line in written)


def test_a_session_resumes_where_the_last_one_ended() -> None:
    first = described_session(typed([]), [])
    first.book.go("c1", SITE)
    before: list[str] = []
    run(session_of(first.book, typed([]), before))
    after: list[str] = []
    run(session_of(first.book, typed([]), after))
    assert before == after


def test_the_end_of_input_is_no_error(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("CATCHPAN_HOME", str(tmp_path))
    monkeypatch.setattr("builtins.input", _ended)
    done = command(capsys, "call")
    assert done.code == 0
    assert "--resume" in done.out
    listed = command(capsys, "call", "--list")
    assert "open" in listed.out
    resumed = command(capsys, "call", "--resume", "last")
    assert resumed.code == 0
    assert command(capsys, "call", "--resume", "nothing").code == 2


def _ended(_: object = "") -> str:
    raise EOFError


def test_the_commands_are_registered() -> None:
    assert {"call", "demo", "ladder"} <= set(MAIN)
    assert Asked("text").prompt == "> "


def test_targets_stand_beside_a_reading_of_the_circuit_and_nowhere_else() -> None:
    written: list[str] = []
    session = described_session(typed([]), written)
    checks = session.guide.family.checks
    _targets(session, checks["panel/suction-line"])
    text = " ".join(" ".join(written).split())
    assert "For 3 tons, R-410A" in text
    assert "Superheat [°F]: this unit's model" in text
    assert "Subcooling" not in text
    length = len(written)
    _targets(session, checks["contactor/pulled-in"])
    assert len(written) == length
