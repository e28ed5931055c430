"""The pieces a circuit is made of: branches with levels, and transformers.

A *branch* joins two nodes through an admittance. It has *levels*: the admittances it can take
(a switch is closed or open, a motor turns or stands, a fault makes a contact resistive). Which
level each branch has is all that differs between one state of a circuit and the next, so states
are compared, stored and solved as small rows of level numbers.
"""

import math
from dataclasses import dataclass, field

LINE_HZ = 60.0
OMEGA_RAD_S = 2.0 * math.pi * LINE_HZ

OPEN_OHM = 1.0e9
CLOSED_OHM = 2.0e-3

GROUND = "ground"


@dataclass(frozen=True)
class Level:
    """One admittance a branch can take.

    Parameters
    ----------
    impedance_ohm : complex
        Impedance at the line frequency [ohm].
    dc_ohm : float
        What an ohmmeter sees with the power off [ohm]; infinite for a capacitor.
    """

    impedance_ohm: complex
    dc_ohm: float

    @property
    def admittance_s(self) -> complex:
        """Admittance at the line frequency [S]."""
        return 1.0 / self.impedance_ohm

    @property
    def dc_conductance_s(self) -> float:
        """Conductance an ohmmeter sees [S]; zero for a capacitor."""
        return 0.0 if math.isinf(self.dc_ohm) else 1.0 / self.dc_ohm


def resistive(ohm: float) -> Level:
    """Level of a pure resistance [ohm]."""
    return Level(complex(ohm), ohm)


def inductive(ohm: float, power_factor: float, dc_ohm: float) -> Level:
    """Level of a coil or winding from its impedance magnitude [ohm] and power factor (0 to 1)."""
    reactive = math.sqrt(max(0.0, 1.0 - power_factor**2))
    return Level(ohm * complex(power_factor, reactive), dc_ohm)


def capacitive(farad: float) -> Level:
    """Level of a capacitor [F] with the small series resistance of a film capacitor."""
    return Level(complex(0.02, -1.0 / (OMEGA_RAD_S * farad)), math.inf)


OPEN = resistive(OPEN_OHM)
CLOSED = resistive(CLOSED_OHM)


@dataclass(frozen=True)
class Branch:
    """A two-terminal piece of a circuit.

    Parameters
    ----------
    id : str
        Unique name, ``part.branch``.
    a, b : str
        The nodes it joins.
    levels : tuple of Level
        The admittances it can take; level 0 is *closed*, *running* or simply normal, level 1
        *open* or *standing* where the branch switches.
    switches : bool
        Whether the state of the system moves it between level 0 and level 1.
    emf_v : complex
        A source in series, driving current from ``b`` to ``a`` inside the branch [V].
    induced : tuple of (str, complex) or None
        A voltage induced by another branch: (its id, gain), present at level 0 only.
    """

    id: str
    a: str
    b: str
    levels: tuple[Level, ...]
    switches: bool = False
    emf_v: complex = 0.0
    induced: tuple[str, complex] | None = None


@dataclass(frozen=True)
class Transformer:
    """An ideal turns ratio with the secondary's winding impedance in series.

    Parameters
    ----------
    id : str
        Unique name; the secondary winding is the branch ``id`` with the given levels.
    primary, secondary : tuple of (str, str)
        Node pairs.
    ratio : float
        Open-circuit secondary volts per primary volt.
    levels : tuple of Level
        Secondary winding impedance, seen from the secondary side.
    """

    id: str
    primary: tuple[str, str]
    secondary: tuple[str, str]
    ratio: float
    levels: tuple[Level, ...]


@dataclass
class Circuit:
    """All branches and transformers of one system, before it is numbered for solving."""

    branches: list[Branch] = field(default_factory=list)
    transformers: list[Transformer] = field(default_factory=list)
