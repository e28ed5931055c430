"""Reading the data files into frozen entries, reporting every problem at once."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from importlib.resources.abc import Traversable
from typing import NamedTuple

from pydantic import BaseModel, ValidationError

from catchpan.catalog.entry import (
    ArchetypeEntry,
    CheckEntry,
    FaultEntry,
    GroupEntry,
    HazardEntry,
    PieceEntry,
    PlaceEntry,
    ProofEntry,
    RepairEntry,
)
from catchpan.catalog.errors import BrokenData, Problem


@dataclass(frozen=True)
class Catalog:
    """All entries by id."""

    archetypes: Mapping[str, ArchetypeEntry]
    pieces: Mapping[str, PieceEntry]
    faults: Mapping[str, FaultEntry]
    checks: Mapping[str, CheckEntry]
    repairs: Mapping[str, RepairEntry]
    proofs: Mapping[str, ProofEntry]
    hazards: Mapping[str, HazardEntry]
    places: Mapping[str, PlaceEntry]
    groups: Mapping[str, GroupEntry]


KINDS: Mapping[str, type[BaseModel]] = {
    "fault": FaultEntry,
    "check": CheckEntry,
    "repair": RepairEntry,
    "proof": ProofEntry,
    "hazard": HazardEntry,
    "place": PlaceEntry,
    "group": GroupEntry,
}
"""Table name in a data file -> what its entries must say. A file may hold several kinds."""


@lru_cache(maxsize=1)
def catalog() -> Catalog:
    """Return the catalog that comes with catchpan; raises BrokenData."""
    return read_catalog(resources.files("catchpan.catalog").joinpath("data"))


def read_catalog(folder: Traversable) -> Catalog:
    """Read every data file below a folder.

    Parameters
    ----------
    folder : Traversable
        Holds ``archetypes``, ``archetypes/pieces`` and any other folders of entries.

    Raises
    ------
    BrokenData
        Naming file, entry and field of every problem.
    """
    problems: list[Problem] = []
    found: dict[str, dict[str, BaseModel]] = {kind: {} for kind in KINDS}
    archetypes: dict[str, BaseModel] = {}
    pieces: dict[str, BaseModel] = {}
    for name, file in _files(folder):
        table = _parse(name, file, problems)
        if table is None:
            continue
        stem = file.name.removesuffix(".toml")
        if name.startswith("archetypes/pieces/"):
            _keep(pieces, PieceEntry, table, _Spot(name, stem), problems)
        elif name.startswith("archetypes/"):
            spot = _Spot(name, str(table.get("id", stem)))
            _keep(archetypes, ArchetypeEntry, table, spot, problems)
        else:
            _read_entries(name, table, found, problems)
    if problems:
        raise BrokenData(problems)
    return Catalog(archetypes, pieces, *(found[kind] for kind in _ORDER))  # type: ignore[arg-type]


_ORDER = ("fault", "check", "repair", "proof", "hazard", "place", "group")


def _files(folder: Traversable, prefix: str = "") -> Iterator[tuple[str, Traversable]]:
    for item in sorted(folder.iterdir(), key=lambda f: f.name):
        if item.is_dir():
            yield from _files(item, f"{prefix}{item.name}/")
        elif item.name.endswith(".toml"):
            yield f"{prefix}{item.name}", item


def _parse(name: str, file: Traversable, problems: list[Problem]) -> dict[str, object] | None:
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        problems.append(Problem(name, "", "", f"not readable as TOML: {error}"))
        return None


def _read_entries(
    name: str,
    table: Mapping[str, object],
    found: Mapping[str, dict[str, BaseModel]],
    problems: list[Problem],
) -> None:
    for kind, entries in table.items():
        if kind not in KINDS or not isinstance(entries, list):
            known = ", ".join(f"[[{k}]]" for k in KINDS)
            problems.append(Problem(name, "", kind, f"unknown table; wanted one of {known}"))
            continue
        for i, entry in enumerate(entries):
            fields = entry if isinstance(entry, dict) else {}
            label = str(fields.get("id", f"{kind} number {i + 1}"))
            _keep(found[kind], KINDS[kind], entry, _Spot(name, label), problems)


class _Spot(NamedTuple):
    """An entry's file and label."""

    file: str
    label: str


def _keep(
    into: dict[str, BaseModel],
    model: type[BaseModel],
    entry: object,
    spot: _Spot,
    problems: list[Problem],
) -> None:
    if spot.label in into:
        problems.append(Problem(*spot, "id", "this id is used twice"))
        return
    try:
        into[spot.label] = model.model_validate(entry)
    except ValidationError as error:
        for item in error.errors():
            where = ".".join(str(x) for x in item["loc"])
            problems.append(Problem(*spot, where, item["msg"].removeprefix("Value error, ")))
