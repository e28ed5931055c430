"""What stands beside the code: the read-me, the make targets, the lock file, the paths."""

import re
import subprocess
import tomllib
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.meta.source import ROOT, our_files, spot

PUBLIC_INDEX_HOSTS = {"pypi.org", "files.pythonhosted.org"}
FOLDERS_OF_ONE_MACHINE = ("work", "tmp", "root", "Users", "home/[a-z]", "mnt", "private")
MACHINE_PATH = re.compile(rf"(?<![\w./~>*}}-])/(?:{'|'.join(FOLDERS_OF_ONE_MACHINE)})(?:[/\w]|$)")
MAKE_COMMAND = re.compile(r"(?<![\w-])make ([a-z-]+)(?=[`\s\n]|$)", re.MULTILINE)
CODE_SPAN = re.compile(
    r"`[^`\n]+`|^(?: {4}|```[a-z]*\n).*?(?:\n(?! {4})|\n```)", re.MULTILINE | re.DOTALL
)
LINK = re.compile(r"\[[^]]+\]\(([^)#\s]+)[^)]*\)")
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]


def make_targets() -> set[str]:
    """Return what `make` can be asked for."""
    text = (ROOT / "Makefile").read_text(encoding="utf-8")
    return set(re.findall(r"^([a-z-]+):", text, re.MULTILINE))


def make_commands(text: str) -> set[str]:
    """Return the targets of the `make` commands a page shows as code."""
    return {target for code in CODE_SPAN.findall(text) for target in MAKE_COMMAND.findall(code)}


def machine_paths(text: str) -> list[int]:
    """Return the lines of a text that hold a path of one machine."""
    lines = enumerate(text.splitlines(), start=1)
    return [number for number, line in lines if MACHINE_PATH.search(line)]


def text_of(file: Path) -> str:
    """Return a file's text, or nothing when it is not text."""
    try:
        return file.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return ""


def test_no_file_holds_a_path_of_one_machine() -> None:
    found = [spot(file, line) for file in our_files() for line in machine_paths(text_of(file))]
    assert found == []


@pytest.mark.parametrize("folder", ["work/x", "tmp/x", "home/ann/x", "root/x", "Users/ann"])
def test_a_path_of_one_machine_is_seen(folder: str) -> None:
    assert machine_paths(f'a = 1\nopen("/{folder}")') == [2]
    assert machine_paths(f"read docs/{folder} or https://example.org/{folder}") == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_make_command_of_a_page_exists(page: Path) -> None:
    assert make_commands(page.read_text(encoding="utf-8")) - make_targets() == set()


def test_make_commands_are_found_in_code_and_not_in_sentences() -> None:
    page = "To make sure, use `make bench`.\n\n    make run   # a call\n\n```sh\nmake test\n```\n"
    assert make_commands(page) == {"bench", "run", "test"}


def test_the_read_me_starts_with_the_two_commands() -> None:
    first_screen = "\n".join((ROOT / "README.md").read_text(encoding="utf-8").splitlines()[:25])
    assert {"run", "test"} <= make_commands(first_screen)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_link_to_a_file_leads_somewhere(page: Path) -> None:
    links = LINK.findall(page.read_text(encoding="utf-8"))
    files = [link for link in links if not urlsplit(link).scheme]
    assert [link for link in files if not (page.parent / link).exists()] == []


def test_the_lock_file_names_only_public_indexes() -> None:
    lock = (ROOT / "uv.lock").read_text(encoding="utf-8")
    hosts = {urlsplit(address).hostname for address in re.findall(r'"(https?://[^"]+)"', lock)}
    assert hosts == PUBLIC_INDEX_HOSTS
    sources = [set(package["source"]) for package in tomllib.loads(lock)["package"]]
    assert set().union(*sources) == {"registry", "editable"}


def test_continuous_integration_runs_the_same_command_as_a_person() -> None:
    script = ROOT / ".ci" / "run"
    assert script.stat().st_mode & 0o111
    assert "make --no-print-directory test" in script.read_text(encoding="utf-8")


@pytest.mark.parametrize("target", ["run", "test", "lint", "bench", "clean", "help"])
def test_make_knows_the_target(target: str) -> None:
    command = ["make", "--dry-run", "--always-make", target]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout


def test_make_help_lists_every_target_a_person_would_ask_for() -> None:
    done = subprocess.run(["make"], cwd=ROOT, capture_output=True, text=True, check=True)
    listed = set(re.findall(r"^make ([a-z]+) ", done.stdout, re.MULTILINE))
    assert listed == {target for target in make_targets() if target != "help"}
