"""The demonstration plays a whole call to its proven end."""

import pytest

from catchpan.catalog.load import catalog
from catchpan.cli.main import run
from catchpan.cli.player import home_of, read_script
from tests.cli.running import Done, command


@pytest.fixture(scope="module")
def played() -> Done:
    capture = pytest.MonkeyPatch()
    with capture.context() as patch:
        lines: list[str] = []
        patch.setattr("click.echo", lambda text="", **_: lines.append(str(text)))
        code = run(["demo"])
    return Done(code, "\n".join(lines), "")


def test_the_home_of_the_script_has_two_roots_and_does_not_work() -> None:
    script = read_script()
    kinds = [catalog().faults[c].kind for c in script["home"]["conditions"]]
    assert kinds.count("root") == 2
    assert script["system"]["options"]["location"] == "basement"
    assert not home_of(script, catalog()).works()


def test_it_ends_with_every_hidden_root_put_right(played: Done) -> None:
    assert played.code == 0
    text = " ".join(played.out.split())
    assert "Find and clear the short in the outdoor control cable" in text
    assert "Replace the outdoor run capacitor: it works now" in text
    assert "tests passed" in text


def test_it_fits_eighty_columns(played: Done) -> None:
    typed = [line for line in played.out.splitlines() if "> " in line[:24]]
    others = [line for line in played.out.splitlines() if line not in typed]
    assert max(len(line) for line in others) <= 80


def test_it_says_what_was_hidden_and_how_to_start_a_call(played: Done) -> None:
    for condition in read_script()["home"]["conditions"]:
        assert catalog().faults[condition].title in played.out
    assert "catchpan call" in played.out


def test_a_pace_that_is_none_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(capsys, "demo", "--pace", "fast").code == 2
