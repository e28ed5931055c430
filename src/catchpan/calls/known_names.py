"""Which names stand for something in the catalog: the name check a call book is given."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catchpan.calls.progress import SITE
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.diagnosis.worlds.family import PHONE
from catchpan.units.errors import UnknownName

if TYPE_CHECKING:
    from collections.abc import Collection

    from catchpan.calls.ports import NameCheck, NamedThing
    from catchpan.catalog.load import Catalog


def name_check(data: Catalog) -> NameCheck:
    """Return a check of names against a catalog.

    Besides the catalog's own names it knows the places of a call that are no place of the house
    (phone, site) and the proof that runs the system as a whole.
    """
    options = {o.id for piece in data.pieces.values() for o in piece.option}
    known: dict[NamedThing, Collection[str]] = {
        "check": data.checks,
        "repair": data.repairs,
        "proof": (*data.proofs, SYSTEM),
        "step": (*data.checks, *data.repairs, *data.proofs, SYSTEM, SITE),
        "place": (*data.places, PHONE, SITE),
        "archetype": data.archetypes,
        "option": options,
    }

    def require(thing: NamedThing, name: str) -> None:
        if name not in known[thing]:
            raise UnknownName(thing, name, known[thing])

    return require
