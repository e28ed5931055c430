"""Making `.venv` from the lock file: `python3 -m tools.set_up run` or `... test`.

`run` installs what the program needs, `test` also what its tests need; both build the field app.
Package indexes, proxies and certificates come from the environment and from pip's and uv's own
settings; when those name another index than the lock file does, the same versions are taken from
there, held to the locked hashes.
"""

import os
import ssl
import sys
from pathlib import Path

from tools import field_app, uv
from tools.shell import CACHE, ROOT, SetUpError, output_of, say, stop, succeeds

VENV = ROOT / ".venv"
STAMPS = {"run": [".ready-to-run"], "test": [".ready-to-run", ".ready-to-test"]}
INDEX_VARIABLES = {"UV_DEFAULT_INDEX", "UV_INDEX_URL", "UV_INDEX", "UV_EXTRA_INDEX_URL"}
SETTINGS_OF_UV = (Path("~/.config/uv/uv.toml"), Path("/etc/uv/uv.toml"))
UNWANTED = ("VIRTUAL_ENV", "UV_FROZEN", "UV_LOCKED", "UV_PYTHON", "UV_NO_SYNC")


def pip_setting(name: str) -> str | None:
    """Return one setting of pip, from the environment or its files; None when not set."""
    said = os.environ.get(f"PIP_{name.upper().replace('-', '_')}")
    for section in ("global", "install"):
        said = said or output_of(
            [sys.executable, "-m", "pip", "config", "get", f"{section}.{name}"]
        )
    return said.strip() if said else None


def default(env: dict[str, str], name: str, value: str | None) -> None:
    """Set a variable unless it is set already or there is nothing to set."""
    if value:
        env.setdefault(name, value)


def home_is_writable() -> bool:
    """Whether this user has a home folder to keep downloads in."""
    home = Path("~").expanduser()
    return home.is_dir() and os.access(home, os.W_OK)


def environment() -> dict[str, str]:
    """Return uv's environment: the machine's own, with what uv would not find out by itself."""
    env = {name: value for name, value in os.environ.items() if name not in UNWANTED}
    env |= {"UV_PROJECT_ENVIRONMENT": str(VENV), "UV_PYTHON_DOWNLOADS": "never"}
    default(env, "UV_LINK_MODE", "copy")
    if not {"UV_INDEX_URL", "UV_DEFAULT_INDEX"} & env.keys():
        default(env, "UV_DEFAULT_INDEX", pip_setting("index-url"))
    default(env, "SSL_CERT_FILE", pip_setting("cert"))
    if ssl.get_default_verify_paths().cafile:
        default(env, "UV_SYSTEM_CERTS", "1")
    if not home_is_writable():
        default(env, "UV_CACHE_DIR", str(CACHE / "uv-downloads"))
    return env


def make_venv(program: Path, env: dict[str, str]) -> None:
    """Make `.venv` with this very Python, unless there is one that runs."""
    if output_of([VENV / "bin" / "python", "--version"]) is None and not succeeds(
        [program, "venv", "--quiet", "--clear", "--python", sys.executable, VENV], env=env
    ):
        raise SetUpError(f"no virtual environment could be made with {sys.executable}")


def sync_locked(program: Path, env: dict[str, str], groups: list[str]) -> bool:
    """Install exactly what the lock file says, from where it says."""
    return succeeds([program, "sync", "--quiet", "--locked", "--inexact", *groups], env=env)


def has_own_index(env: dict[str, str]) -> bool:
    """Whether this machine may take packages from elsewhere than the lock file says."""
    return bool(INDEX_VARIABLES & env.keys()) or any(
        file.expanduser().exists() for file in SETTINGS_OF_UV
    )


def sync_from_elsewhere(program: Path, env: dict[str, str], groups: list[str]) -> bool:
    """Install the locked versions, held to their locked hashes, from the machine's own index."""
    say("the lock's own index did not serve; taking the same files from this machine's index")
    wanted = CACHE / "locked-requirements.txt"
    export: list[str | Path] = [
        program,
        "export",
        "--quiet",
        "--frozen",
        "--no-emit-project",
        *groups,
        "-o",
        wanted,
    ]
    install: list[str | Path] = [program, "pip", "install", "--quiet", "--python", VENV]
    return (
        succeeds(export, env=env)
        and succeeds([*install, "--require-hashes", "-r", wanted], env=env)
        and succeeds([*install, "--no-deps", "--editable", ROOT], env=env)
    )


def set_up(purpose: str) -> None:
    """Make `.venv` ready for a purpose, `run` or `test`, and leave stamps that say so."""
    CACHE.mkdir(exist_ok=True)
    os.chdir(ROOT)
    program, env = uv.get(), environment()
    make_venv(program, env)
    groups = ["--no-dev", "--group", "build"] if purpose == "run" else ["--all-groups"]
    say("installing the locked packages into .venv")
    if not sync_locked(program, env, groups) and not (
        has_own_index(env) and sync_from_elsewhere(program, env, groups)
    ):
        raise SetUpError("the packages in uv.lock could not be installed (see the lines above)")
    field_app.build(VENV / "bin" / "python")
    for stamp in STAMPS[purpose]:
        (VENV / stamp).touch()


def main(words: list[str]) -> int:
    """Set up for the purpose named on the command line."""
    if words not in (["run"], ["test"]):
        return stop(SetUpError(f"wanted one word, run or test, got {words}"))
    try:
        set_up(words[0])
    except SetUpError as error:
        return stop(error)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
