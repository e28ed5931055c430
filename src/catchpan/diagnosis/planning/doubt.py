"""How far to believe what the worlds say of a repair, after what repairs have shown so far.

Worlds hold at most two roots, units as the plant has them, and slips of the usual number. A home
may be like none of them: three things wrong, a unit that differs, a caller who mixed things up.
There, a repair that is said to get it working does so more seldom, and the failure of one that was
sure to do it is a sign of it. What is said of a repair is tempered by this; what is done is not: it
lowers all repairs alike, and so changes nothing between them.
"""

from __future__ import annotations

from typing import Final

UNLIKE: Final = 0.05
"""Chance that a home is like none of the worlds, before anything was repaired (assumed)."""

HOLDS_LESS: Final = 0.5
"""Where it is like none, what is said of a repair holds so many times as often (assumed)."""

MOST: Final = 0.95
"""The doubt grows no further: one repair that works after all must be able to undo it."""


def tempered(chance: float, doubt: float) -> float:
    """Return how likely a repair is to get it working, mindful that this home may be unlike.

    Parameters
    ----------
    chance
        What the worlds say, 0 to 1.
    doubt
        Chance that this home is like none of them, 0 to 1.
    """
    return chance * (1.0 - doubt * (1.0 - HOLDS_LESS))


def after_try(doubt: float, chance: float, *, worked: bool) -> float:
    """Return the doubt, by Bayes, after a repair the worlds gave a chance and what came of it."""
    like = chance if worked else 1.0 - chance
    unlike = HOLDS_LESS * chance if worked else 1.0 - HOLDS_LESS * chance
    total = doubt * unlike + (1.0 - doubt) * like
    return min(doubt * unlike / total, MOST) if total > 0.0 else doubt
