"""A home with something hidden in it, as far as anyone may know it: its answers."""

from __future__ import annotations

from typing import Protocol


class Home(Protocol):
    """What a technician gets out of a home: answers, how a try came out, how long things take.

    Nothing of what is hidden can be had from it but through these.
    """

    def can_do(self, target: str) -> bool:
        """Say whether a check or proof can be made on this call at all."""
        ...

    def answer(self, check_id: str) -> str:
        """Return the id of the answer somebody gives or reads, right or wrong."""
        ...

    def number(self, check_id: str) -> float | None:
        """Return the number read, where the check is weighed by it; None where by its answer."""
        ...

    def try_repair(self, repair_id: str) -> bool:
        """Make a repair and say whether the system is seen to work afterwards."""
        ...

    def runs(self) -> bool:
        """Run the system as it is and say whether it is seen to work."""
        ...

    def prove(self, proof_id: str) -> str:
        """Return ``pass``, ``fail`` or ``too-close``."""
        ...

    def pace(self, target: str) -> float:
        """Return how many times its usual minutes a step takes here."""
        ...


class Judge(Protocol):
    """What only the one who hid it knows: for the score after a call, never for its steps."""

    def left_over(self) -> frozenset[str]:
        """Return the conditions that are there now."""
        ...

    def must_go(self) -> frozenset[str]:
        """Return those of them that keep the system from working for days."""
        ...

    def works(self) -> bool:
        """Say whether the system works now, rightly judged."""
        ...

    def is_fixed(self) -> bool:
        """Say whether the system works and would still work after days."""
        ...

    def would_help(self, repair_id: str) -> bool:
        """Say whether a repair removes anything that is there now."""
        ...
