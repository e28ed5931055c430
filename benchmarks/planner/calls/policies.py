"""The policies that are compared, by name."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from catchpan.diagnosis.planning.policy import (
    EASY_FIRST,
    EASY_NO_PROOF,
    INFORMATION,
    LIKELIEST_FIRST,
    RATIO,
    Myopic,
    Planner,
)

if TYPE_CHECKING:
    from catchpan.diagnosis.planning.policy import Policy

CLAIRVOYANT: Final = "clairvoyant"
OURS: Final = "catchpan"
PRACTICE: Final = (EASY_FIRST.name, LIKELIEST_FIRST.name)
"""What practitioners do, the trade's habit first."""

NO_PROOFS: Final = EASY_NO_PROOF.name
"""The trade's habit without our proofs: it watches the system run and leaves."""


def policies() -> dict[str, Policy | None]:
    """Return every policy; the one without is played by who knows what is wrong."""
    compared = (
        Planner(OURS),
        EASY_FIRST,
        LIKELIEST_FIRST,
        EASY_NO_PROOF,
        Myopic(),
        INFORMATION,
        RATIO,
    )
    return {CLAIRVOYANT: None, **{p.name: p for p in compared}}
