"""What the routes work with: the calls, the photos, the catalog, and the maker of families."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field
from threading import Lock
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import Depends, Request

from catchpan.calls.described import describe
from catchpan.calls.guide import Guide, guide
from catchpan.calls.trail import Trail, fold
from catchpan.web.problem import NotFoundError

if TYPE_CHECKING:
    from pathlib import Path

    from catchpan.calls.ports import PhotoStore
    from catchpan.calls.state import CallState
    from catchpan.calls.use_case import CallBook
    from catchpan.catalog.load import Catalog
    from catchpan.diagnosis.worlds.description import Description
    from catchpan.diagnosis.worlds.family import Family
    from catchpan.web.family_maker import FamilyMaker

MOST_GUIDES: Final = 8


@dataclass(frozen=True)
class Secure:
    """Where the server answers over HTTPS, and the authority a phone has to trust for that."""

    address: str
    authority_pem: bytes


@dataclass
class Shop:
    """Everything a route needs.

    Parameters
    ----------
    book : CallBook
        The calls, from a store that may be used from any thread.
    photos : PhotoStore
        The images.
    data : Catalog
        The catalog.
    maker : FamilyMaker
        Compiles systems.
    app_folder : Path
        The built field app; it may be missing.
    token : str
        What lets a device in; empty lets every device in.
    secure : Secure or None
        HTTPS by our own authority, where there is one.
    """

    book: CallBook
    photos: PhotoStore
    data: Catalog
    maker: FamilyMaker
    app_folder: Path
    token: str = ""
    secure: Secure | None = None
    _guides: OrderedDict[tuple[str, frozenset[str], str], Guide] = field(
        default_factory=OrderedDict
    )
    _lock: Lock = field(default_factory=Lock)

    def trail(self, call_id: str) -> Trail:
        """Return the trail of a call.

        Raises
        ------
        NotFoundError
            Where nobody knows it.
        """
        found = Trail(call_id, self.book.store.events_of(call_id))
        if not found.events:
            raise NotFoundError(f"call {call_id[:64]!r}", "its first events open a call")
        return found

    def state(self, call_id: str) -> CallState:
        """Return the present state of a call."""
        return fold(self.trail(call_id))

    def description(self, call_id: str) -> Description:
        """Return what a call says of its system."""
        return describe(self.state(call_id), self.data)

    def guide(self, call_id: str, key: str = "") -> tuple[str, Guide]:
        """Return the guide of a call, and the key of the compiled call it is worked out with.

        Parameters
        ----------
        call_id : str
            The call.
        key : str, optional
            The compiled call to use; by default the one that fits what is known.
        """
        trail = self.trail(call_id)
        state = fold(trail)
        wanted = key or self.maker.key(describe(state, self.data))
        mark = (call_id, frozenset(event.id for event in trail.events), wanted)
        with self._lock:
            if mark in self._guides:
                self._guides.move_to_end(mark)
                return wanted, self._guides[mark]
        made = guide(state, self.data, lambda description: self._family(description, key))
        with self._lock:
            self._guides[mark] = made
            while len(self._guides) > MOST_GUIDES:
                self._guides.popitem(last=False)
        return wanted, made

    def _family(self, description: Description, key: str) -> Family:
        if not key or key == self.maker.key(description):
            return self.maker.family(description)
        found = self.maker.family_of_key(key)
        if found is None:
            raise NotFoundError(f"compiled call {key[:40]!r}", "leave the key out, or fetch anew")
        return found


def _shop_of(request: Request) -> Shop:
    found = request.app.state.shop
    if not isinstance(found, Shop):
        raise TypeError("the application was made without a shop")
    return found


TheShop = Annotated[Shop, Depends(_shop_of)]
"""The shop, as a parameter of a route."""
