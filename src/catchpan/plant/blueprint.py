"""What the plant is built from: parts, wires, and the effects that conditions have on them.

The catalog reads these from its data files; the plant does not know where they came from.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True)
class PartSpec:
    """One part of a system: its type names a class of ``plant.parts``."""

    id: str
    type: str
    place: str
    settings: Mapping[str, float | str | bool] = field(default_factory=dict)


@dataclass(frozen=True)
class WireSpec:
    """A conductor from terminal to terminal.

    With an ``id`` it is a branch of its own, which can break and has a resistance by gauge and
    length; without one it joins the two terminals ideally (a bus bar, a spade on a board).
    """

    a: str
    b: str
    id: str = ""
    awg: int = 18
    length_m: float = 1.0


@dataclass(frozen=True)
class Blueprint:
    """A whole system with every option settled."""

    id: str
    parts: tuple[PartSpec, ...]
    wires: tuple[WireSpec, ...]


@dataclass(frozen=True)
class BranchEffect:
    """A condition that changes one branch.

    ``open`` and ``stuck_closed`` hold whatever the part decides; ``ohm`` replaces the closed
    resistance; ``factor`` multiplies the impedance.
    """

    branch: str
    do: Literal["open", "stuck_closed", "ohm", "factor"]
    value: float = 0.0


@dataclass(frozen=True)
class ShortEffect:
    """A condition that joins two terminals through a resistance [ohm]."""

    a: str
    b: str
    ohm: float
    do: Literal["short"] = "short"

    @property
    def branch(self) -> str:
        """Id of the branch this short adds to the circuit (open until the condition holds)."""
        first, second = sorted((self.a, self.b))
        return f"short:{first}:{second}:{self.ohm:g}"


@dataclass(frozen=True)
class ValueEffect:
    """A condition that changes a value of a part (``part.value``) away from its healthy figure."""

    name: str
    do: Literal["to", "times", "add"]
    value: float


Effect = BranchEffect | ShortEffect | ValueEffect
