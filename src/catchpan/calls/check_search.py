"""Finding a check by words: every check of the catalog, whatever the present step is."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from rapidfuzz import fuzz

if TYPE_CHECKING:
    from collections.abc import Iterable

    from catchpan.catalog.entry import CheckEntry

LEAST: Final = 55.0
"""Score from which a check is shown, 0 to 100 (assumed, tried on the catalog's own titles)."""


def find_checks(words: str, checks: Iterable[CheckEntry], limit: int = 8) -> tuple[CheckEntry, ...]:
    """Return the checks that fit the words best, the best first.

    Parameters
    ----------
    words : str
        What the person typed; an id is found by itself.
    checks : iterable of CheckEntry
        Where to look.
    limit : int
        How many to return at most.
    """
    wanted = _plain(words)
    if not wanted:
        return ()
    scored = [(-_score(wanted, check), check.id, check) for check in checks]
    scored.sort(key=lambda item: item[:2])
    return tuple(check for score, _, check in scored[:limit] if -score >= LEAST)


def _score(wanted: str, check: CheckEntry) -> float:
    names = (f"{check.title} {check.id}", *check.also)
    named = " ".join(names)
    told = f"{check.ask} {' '.join(check.phrases)} {check.tool}"
    words = wanted.split()
    among = _plain(f"{named} {told}")
    inside = sum(bool(re.search(rf"\b{word}", among)) for word in words) / len(words)
    return 0.45 * max(fuzz.token_set_ratio(wanted, _plain(n)) for n in names) + 55.0 * inside


def _plain(text: str) -> str:
    return " ".join(re.findall(r"[a-z0-9]+", text.casefold()))
