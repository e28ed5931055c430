"""The entry of the terminal: help at once, exit codes, and never a traceback."""

import importlib
import subprocess
import sys
from pathlib import Path

import click
import pytest

from catchpan.cli import main as entry
from catchpan.cli.main import COMMANDS, Entry, run
from catchpan.units.errors import EXIT_GENERAL, EXIT_STORAGE, EXIT_USAGE, CatchpanError
from tests.cli.running import command


class FullError(CatchpanError):
    exit_code = EXIT_STORAGE


@pytest.fixture
def failing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Put a command in place that fails as told."""

    @click.command()
    @click.argument("how")
    def fail(how: str) -> None:
        errors = {
            "class": FullError("the disk is full", hint="make room"),
            "bug": KeyError("a\nb"),
            "pipe": BrokenPipeError(),
            "keys": KeyboardInterrupt(),
        }
        raise errors[how]

    monkeypatch.setattr(entry, "fail", fail, raising=False)
    monkeypatch.setattr(entry, "COMMANDS", {"fail": Entry("catchpan.cli.main", "Fail.")})


def test_help_names_every_command_without_importing_them() -> None:
    ask = "import sys; from catchpan.cli.main import run; run(['--help'])"
    code = f"{ask}; print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    for name, about in COMMANDS.items():
        assert f"  {name}" in done.stdout
        assert about.help.split()[0] in done.stdout
    assert done.stdout.splitlines()[-1] == "False"


@pytest.mark.parametrize("name", list(COMMANDS))
def test_every_command_is_where_the_list_says(name: str) -> None:
    module = importlib.import_module(COMMANDS[name].module)
    assert isinstance(getattr(module, name), click.Command)
    assert getattr(module, name).name == name


def test_an_unknown_command_is_wrong_use(capsys: pytest.CaptureFixture[str]) -> None:
    done = command(capsys, "wiegh")
    assert done.code == EXIT_USAGE
    assert "wiegh" in done.err


@pytest.mark.usefixtures("failing")
def test_an_error_of_ours_is_its_sentence_and_its_code(capsys: pytest.CaptureFixture[str]) -> None:
    done = command(capsys, "fail", "class")
    assert (done.code, done.err) == (EXIT_STORAGE, "catchpan: the disk is full; make room\n")


@pytest.mark.usefixtures("failing")
def test_a_bug_is_one_line(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("CATCHPAN_DEBUG", raising=False)
    done = command(capsys, "fail", "bug")
    assert done.code == EXIT_GENERAL
    assert len(done.err.splitlines()) == 1
    assert "something went wrong: KeyError" in done.err


@pytest.mark.usefixtures("failing")
def test_the_details_of_a_bug_are_kept_where_asked(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    file = tmp_path / "details.txt"
    monkeypatch.setenv("CATCHPAN_DEBUG", str(file))
    done = command(capsys, "fail", "bug")
    assert f"details in {file}" in done.err
    assert "Traceback" in file.read_text()
    monkeypatch.setenv("CATCHPAN_DEBUG", str(tmp_path / "no" / "folder"))
    assert "could not be written" in command(capsys, "fail", "bug").err


@pytest.mark.usefixtures("failing")
def test_interrupting_is_no_error(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(capsys, "fail", "keys").code == 130


def test_a_closed_pipe_ends_quietly() -> None:
    program = "from catchpan.cli.main import main; main(['catalog', 'checks'])"
    line = f'"{sys.executable}" -c "{program}" | head -n 1'
    done = subprocess.run(["sh", "-c", line], capture_output=True, text=True, check=True)
    assert done.stderr == ""


def test_the_version_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"]) == 0
    assert "version" in capsys.readouterr().out
