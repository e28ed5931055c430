"""Compiled families, kept: in the memory of the process, and on a shelf handed in from above.

A family is found again by everything it depends on: the description, the costs, the sizes, the
catalog's content, and the program text of the rooms that compile it.
"""

import hashlib
import json
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import asdict
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from typing import Any, Final, Protocol

from numpy.typing import NDArray

from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.worlds.compile_family import Costs, Size, compile_family
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family
from catchpan.diagnosis.worlds.family_arrays import from_arrays, to_arrays
from catchpan.units.errors import CatchpanError

MOST_IN_MEMORY: Final = 6
ROOMS: Final = ("catalog", "diagnosis.worlds", "physics", "plant", "units")


class FamilyShelf(Protocol):
    """Keeps the arrays of compiled families beyond the end of the process."""

    def get(self, key: str) -> Mapping[str, NDArray[Any]] | None:
        """Return what was put under the key, or None if there is nothing readable."""
        ...

    def put(self, key: str, arrays: Mapping[str, NDArray[Any]]) -> None:
        """Keep the arrays; a shelf that cannot does nothing."""
        ...


_memory: OrderedDict[str, Family] = OrderedDict()


def compiled(
    description: Description,
    data: Catalog | None = None,
    costs: Costs | None = None,
    size: Size | None = None,
    shelf: FamilyShelf | None = None,
) -> Family:
    """Return the family of a system, compiled now or found again.

    Parameters
    ----------
    description, data, costs, size
        As for ``compile_family``.
    shelf : FamilyShelf, optional
        Where families are kept between starts; anything unreadable there is compiled anew.

    Raises
    ------
    UnknownName, ImpossibleOptions
        For an archetype or option that does not exist.
    """
    data, costs, size = data or catalog(), costs or Costs(), size or Size()
    key = family_key(description, data, costs, size)
    family = _memory.pop(key, None) or from_shelf(key, shelf)
    if family is None:
        family = compile_family(description, data, costs, size)
        if shelf is not None:
            shelf.put(key, to_arrays(family))
    _memory[key] = family
    while len(_memory) > MOST_IN_MEMORY:
        _memory.popitem(last=False)
    return family


def forget() -> None:
    """Forget the families in memory."""
    _memory.clear()


def family_key(description: Description, data: Catalog, costs: Costs, size: Size) -> str:
    """Return what a family depends on, as 32 hexadecimal digits."""
    asked = {
        "description": {**vars(description), "options": dict(description.options)},
        "costs": asdict(costs),
        "size": asdict(size),
    }
    text = json.dumps(asked, sort_keys=True)
    parts = (text, catalog_hash(data), program_hash())
    return hashlib.sha256("\n".join(parts).encode("utf-8")).hexdigest()[:32]


def catalog_hash(data: Catalog) -> str:
    """Return a hash over every entry of a catalog."""
    return _shipped_hash() if data is catalog() else _content_hash(data)


@cache
def _shipped_hash() -> str:
    return _content_hash(catalog())


def _content_hash(data: Catalog) -> str:
    found = hashlib.sha256()
    for kind, entries in vars(data).items():
        for name in sorted(entries):
            found.update(f"{kind} {name} {entries[name]!r}\n".encode())
    return found.hexdigest()


@cache
def program_hash() -> str:
    """Return a hash over the program text that makes families."""
    found = hashlib.sha256()
    for room in ROOMS:
        _add_texts(resources.files(f"catchpan.{room}"), found)
    return found.hexdigest()


def _add_texts(folder: Traversable, found: "hashlib._Hash") -> None:
    for item in sorted(folder.iterdir(), key=lambda f: f.name):
        if item.name.endswith(".py"):
            found.update(item.name.encode() + item.read_bytes())
        elif item.is_dir() and item.name not in {"__pycache__", "data"}:
            _add_texts(item, found)


def from_shelf(key: str, shelf: FamilyShelf | None) -> Family | None:
    """Return the family kept under a key; None where there is none that can be read."""
    arrays = shelf.get(key) if shelf is not None else None
    if arrays is None:
        return None
    try:
        return from_arrays(arrays)
    except (KeyError, ValueError, TypeError, IndexError, CatchpanError):
        return None
