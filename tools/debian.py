"""Getting packages from Debian or Ubuntu, as root or without any rights.

Without root the packages and the libraries they need are downloaded and unpacked below `.cache`,
where only this checkout sees them; nothing on the machine changes.
"""

import os
import re
import shutil
from collections.abc import Sequence
from pathlib import Path

from tools.shell import CACHE, output_of, say, succeeds

UNPACKED = CACHE / "debian"
INSTALLED_LINE = re.compile(r"^Inst (\S+) (?:\[[^]]*\] )?\((\S+)", re.MULTILINE)
STARTER = """#!/bin/sh
root={root}
LD_LIBRARY_PATH={libraries}${{LD_LIBRARY_PATH:+:$LD_LIBRARY_PATH}}
{settings}
export LD_LIBRARY_PATH {names}
exec "$root/{program}" "$@"
"""
LOCK_PATIENCE = ("-o", "DPkg::Lock::Timeout=300")


def has_apt() -> bool:
    """Whether this is a machine with Debian's package tools."""
    return shutil.which("apt-get") is not None and shutil.which("dpkg") is not None


def rights() -> tuple[str, ...] | None:
    """Return the words before a command to run it as root; None when that is not possible."""
    if os.geteuid() == 0:
        return ()
    if shutil.which("sudo") and output_of(["sudo", "-n", "true"]) is not None:
        return ("sudo", "-n")
    return None


def install(packages: Sequence[str]) -> bool:
    """Install packages for the whole machine; False when not allowed or not possible."""
    prefix = rights()
    if prefix is None or not has_apt():
        return False
    command = [*prefix, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", *LOCK_PATIENCE]
    wanted = ["install", "-y", "--no-install-recommends", *packages]
    say(f"installing {', '.join(packages)} from the distribution")
    return succeeds([*command, *wanted]) or (
        succeeds([*command, "update"]) and succeeds([*command, *wanted])
    )


def private_lists() -> list[str]:
    """Return apt options that keep package lists below `.cache`, where a plain user may write."""
    lists, cache = CACHE / "apt" / "lists", CACHE / "apt" / "cache"
    for folder in (lists / "partial", cache / "archives" / "partial"):
        folder.mkdir(parents=True, exist_ok=True)
    return ["-o", f"Dir::State::lists={lists}", "-o", f"Dir::Cache={cache}"]


def needed(packages: Sequence[str], options: Sequence[str]) -> list[str]:
    """Return `name=version` of every package an installation would add; empty when unknown."""
    command = ["apt-get", *options, "-s", "install", "--no-install-recommends", *packages]
    plan = output_of(command, env={**os.environ, "LC_ALL": "C"}) or ""
    return [f"{name}={version}" for name, version in INSTALLED_LINE.findall(plan)]


def download(names: Sequence[str], options: Sequence[str], folder: Path) -> list[Path]:
    """Download packages into an emptied folder; the files, or none when any of them failed."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    got = output_of(["apt-get", *options, "download", *names], cwd=folder)
    return sorted(folder.glob("*.deb")) if got is not None else []


def fetch(packages: Sequence[str], folder: Path) -> list[Path]:
    """Download packages with what they need, with the machine's lists or else with fresh ones."""
    names = needed(packages, [])
    files = download(names, [], folder) if names else []
    if files:
        return files
    options = private_lists()
    say("fetching the distribution's package lists")
    if not succeeds(["apt-get", *options, "-q", "update"]):
        return []
    names = needed(packages, options)
    return download(names, options, folder) if names else []


def unpack(packages: Sequence[str]) -> bool:
    """Unpack packages and what they need below `.cache/debian`, without any rights."""
    if not has_apt():
        return False
    say(f"unpacking {', '.join(packages)} from the distribution into .cache (no root needed)")
    files = fetch(packages, CACHE / "debs")
    UNPACKED.mkdir(parents=True, exist_ok=True)
    done = bool(files) and all(succeeds(["dpkg", "-x", file, UNPACKED]) for file in files)
    for leftover in (CACHE / "debs", CACHE / "apt"):
        shutil.rmtree(leftover, ignore_errors=True)
    return done


def quoted(path: Path) -> str:
    """Spell a path for the shell."""
    return "'" + str(path).replace("'", "'\\''") + "'"


def write_starter(target: Path, program: str, settings: Sequence[str]) -> None:
    """Write a script that starts an unpacked program with its own libraries.

    Parameters
    ----------
    target : Path
        The script.
    program : str
        The program's path below the folder of unpacked packages.
    settings : sequence of str
        Variables it needs, as ``NAME=value``; ``$root`` is that folder.
    """
    folders = sorted({file.parent for file in UNPACKED.rglob("*.so*")})
    text = STARTER.format(
        root=quoted(UNPACKED),
        libraries=":".join(quoted(folder) for folder in folders),
        settings="\n".join(settings),
        names=" ".join(setting.partition("=")[0] for setting in settings),
        program=program,
    )
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(text)
    target.chmod(0o755)
