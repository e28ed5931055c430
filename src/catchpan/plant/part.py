"""What a part is, and the view of the solved circuit from which parts decide."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from catchpan.physics.circuits.branch import CLOSED, GROUND, OPEN, Branch, Transformer
from catchpan.physics.circuits.network import Solution
from catchpan.plant.blueprint import PartSpec

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

OFF, HUMMING, RUNNING = 0.0, 1.0, 2.0
"""States of a motor: no sound, energised but standing, turning."""


@dataclass(frozen=True)
class Surroundings:
    """What the system is asked to do and the weather it works in.

    Parameters
    ----------
    demand : str
        ``off``, ``fan``, ``cool``, ``heat`` or ``emergency`` (resistance or backup heat only).
    outdoor_c, indoor_c : float
        Dry-bulb temperatures [degC].
    indoor_rh : float
        Relative humidity at the return grille (0 to 1).
    since_call_s, since_power_s : float
        Seconds since this demand began and since the power last came back; infinite when every
        delay has long run out.
    ended, since_end_s : str, float
        With demand ``off``: the demand that ended, and how many seconds ago.
    defrosting : bool
        Whether this is one of the minutes in which a heat pump's board clears the outdoor coil.
    """

    demand: str
    outdoor_c: float = 32.0
    indoor_c: float = 26.0
    indoor_rh: float = 0.5
    since_call_s: float = math.inf
    since_power_s: float = math.inf
    ended: str = ""
    since_end_s: float = math.inf
    defrosting: bool = False


@dataclass
class View:
    """One pass of the fixed point, for a batch of B worlds.

    Parts read voltages and other parts' signals, write their own signals, and set whether their
    switching branches are closed.
    """

    size: int
    around: Surroundings
    values: Mapping[str, Array]
    column: Mapping[str, int]
    closed: Mask
    join: Mapping[str, str]
    solution: Solution | None = None
    signals: dict[str, Array] = field(default_factory=dict)

    def volts(self, a: str, b: str = GROUND) -> Array:
        """Voltage between two terminals [V rms]; zero before the first solution."""
        if self.solution is None:
            return np.zeros(self.size)
        return np.abs(self.solution.between(self.join.get(a, a), self.join.get(b, b)))

    def amps(self, branch: str) -> Array:
        """Return current through a branch [A rms]; zero before the first solution."""
        if self.solution is None:
            return np.zeros(self.size)
        return self.solution.amps(branch)

    def value(self, name: str) -> Array:
        """Return a part's value in each world (healthy, or changed by a condition)."""
        return self.values[name]

    def value_or(self, name: str, default: float) -> Array:
        """Return a value of a part that not every system has."""
        found = self.values.get(name)
        return np.full(self.size, default) if found is None else found

    def signal(self, name: str, default: float = 0.0) -> Array:
        """Return a signal as last written; ``default`` where no part of this system writes it."""
        return self.signals.get(name, np.full(self.size, default))

    def write(self, name: str, what: Array | Mask | float) -> None:
        """Publish a signal of the part."""
        if isinstance(what, np.ndarray) and what.shape == (self.size,):
            self.signals[name] = what.astype(np.float64, copy=False)
        else:
            self.signals[name] = np.full(self.size, float(what))

    def is_closed(self, branch: str) -> Mask:
        """Whether a switching branch was last set closed."""
        found: Mask = self.closed[:, self.column[branch]]
        return found

    def set_closed(self, branch: str, closed: Mask | bool) -> None:
        """Close (or run) a switching branch where true, open (or stop) it elsewhere."""
        self.closed[:, self.column[branch]] = closed

    def calls_for(self, *demands: str) -> bool:
        """Whether the present demand is one of these."""
        return self.around.demand in demands


class Part:
    """A component type: its terminals' branches, its healthy values, and what it decides.

    Subclasses state their ``TERMINALS`` and ``VALUES`` (with defaults), build their branches and
    act on each pass. They hold no state of their own: everything lives in the view.
    """

    TERMINALS: tuple[str, ...] = ()
    VALUES: ClassVar[Mapping[str, float]] = {}
    NAMES: ClassVar[Mapping[str, str]] = {}

    def __init__(self, spec: PartSpec) -> None:
        self.id = spec.id
        self.place = spec.place
        self.settings = spec.settings

    def number(self, name: str) -> float:
        """Return a numeric setting, or the class's default for it."""
        return float(self.settings.get(name, self.VALUES[name]))

    def word(self, name: str) -> str:
        """Return a setting that is a name, or the class's default for it."""
        return str(self.settings.get(name, self.NAMES[name]))

    def at(self, terminal: str) -> str:
        """Full name of a terminal, branch, value or signal of this part."""
        return f"{self.id}.{terminal}"

    def default_values(self) -> dict[str, float]:
        """Healthy values of the part, by full name."""
        return {self.at(name): self.number(name) for name in self.VALUES}

    def branches(self) -> Sequence[Branch]:
        """Return the part's branches; none for a part that carries no current."""
        return ()

    def transformers(self) -> Sequence[Transformer]:
        """Return the part's transformers; none for most."""
        return ()

    def act(self, view: View) -> None:
        """Read the view, write signals, set switches."""

    def contact(self, name: str, a: str, b: str) -> Branch:
        """Return a switching branch between two of the part's terminals."""
        return Branch(self.at(name), self.at(a), self.at(b), (CLOSED, OPEN), switches=True)
