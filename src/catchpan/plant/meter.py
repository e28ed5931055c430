"""What a technician's meter shows on a settled plant.

Voltage and current are read with the power on, in the state as settled. Resistance, capacitance
and insulation are read with the power off: every source dead and cut off behind the switch that
takes the power off, every contactor and relay dropped out, and float and safety switches where
the conditions of the world leave them.
"""

from collections.abc import Callable

import numpy as np

from catchpan.physics.circuits.branch import GROUND, OMEGA_RAD_S, Circuit, Level
from catchpan.physics.circuits.network import METER_OHM, OL_OHM, Network
from catchpan.plant.errors import UnknownPart
from catchpan.plant.part import Array
from catchpan.plant.settle import State

LOW_IMPEDANCE_OHM = 3000.0
"""Input resistance of a voltmeter's low-impedance range [ohm] (common practice, no source)."""

INSULATION_OL_OHM = 2.0e9
"""Above this an insulation tester shows no reading [ohm] (assumed, ordinary 500 V tester)."""


def voltage(state: State, a: str, b: str = GROUND, meter_ohm: float = METER_OHM) -> Array:
    """Read the alternating voltage between two points.

    On an open conductor beside a live one an ordinary meter shows the ghost voltage that the
    cable's capacitance lets through; a low-impedance meter pulls it down.

    Parameters
    ----------
    state : State
        Settled worlds, power on.
    a, b : str
        Terminals, or ``ground``.
    meter_ohm : float
        Input resistance of the meter [ohm], above zero.

    Returns
    -------
    array of float, shape (B,)
        Voltage [V rms].

    Raises
    ------
    UnknownPart
        For a terminal the system does not have.

    Source: the loading of a source of finite impedance by a meter, Thevenin's theorem.
    """
    return state.plant.network.voltmeter(
        state.solution, _node(state, a), _node(state, b), meter_ohm
    )


def current(state: State, branch: str) -> Array:
    """Read a clamp meter around one conductor or winding.

    Parameters
    ----------
    state : State
        Settled worlds, power on.
    branch : str
        Branch id.

    Returns
    -------
    array of float, shape (B,)
        Current [A rms].

    Raises
    ------
    UnknownPart
        For a branch the system does not have.
    """
    _known_branch(state, branch)
    return state.solution.amps(branch)


def resistance_of(state: State, branch: str) -> Array:
    """Read an ohmmeter across one branch taken out of the circuit (a lead pulled off).

    Parameters
    ----------
    state : State
        Settled worlds; the switches are taken as they are with the power off.
    branch : str
        Branch id.

    Returns
    -------
    array of float, shape (B,)
        Resistance [ohm]; inf where the meter shows over limit.

    Raises
    ------
    UnknownPart
        For a branch the system does not have.
    """
    return _over_limit(_dc_ohm(state, branch), OL_OHM)


def resistance_between(state: State, a: str, b: str = GROUND) -> Array:
    """Read an ohmmeter between two points with everything left connected.

    Parameters
    ----------
    state : State
        Settled worlds; the switches are taken as they are with the power off.
    a, b : str
        Terminals, or ``ground``.

    Returns
    -------
    array of float, shape (B,)
        Resistance [ohm]; inf where the meter shows over limit.

    Raises
    ------
    UnknownPart
        For a terminal the system does not have.
    """
    levels = state.without_power.solution.levels
    return state.plant.network.ohmmeter(levels, _node(state, a), _node(state, b))


def resistance_across(state: State, part: str, a: str, b: str) -> Array:
    """Read an ohmmeter between two terminals of one part with all its leads pulled off.

    When to use it: windings, where C to R goes through the motor's own overload.

    Parameters
    ----------
    state : State
        Settled worlds; the switches are taken as they are with the power off.
    part : str
        Part id, such as ``compressor``.
    a, b : str
        Terminals of the part, by full name, or ``ground`` for its case.

    Returns
    -------
    array of float, shape (B,)
        Resistance [ohm]; inf where the meter shows over limit.

    Raises
    ------
    UnknownPart
        For a part without branches, or a terminal the system does not have.
    """
    plant = state.plant
    columns = [i for i, name in enumerate(plant.column) if name.startswith(f"{part}.")]
    if not columns:
        parts = tuple(dict.fromkeys(name.split(".")[0] for name in plant.column))
        raise UnknownPart("part", part, parts, plant.blueprint.id)
    alone = Network(Circuit([plant.network.branches[i] for i in columns]))
    levels = np.ascontiguousarray(state.without_power.solution.levels[:, columns])
    return alone.ohmmeter(levels, _node(state, a), _node(state, b))


def capacitance_of(state: State, branch: str) -> Array:
    """Read a capacitance meter across a capacitor that is discharged and has a lead off.

    Parameters
    ----------
    state : State
        Settled worlds.
    branch : str
        Branch id.

    Returns
    -------
    array of float, shape (B,)
        Capacitance [F]; zero for a branch that is open, shorted or no capacitor.

    Raises
    ------
    UnknownPart
        For a branch the system does not have.
    """
    return _by_level(state, branch, _farad)


def insulation_of(state: State, branch: str) -> Array:
    """Read an insulation tester across one branch taken out of the circuit.

    Parameters
    ----------
    state : State
        Settled worlds.
    branch : str
        Branch id, such as ``compressor.insulation`` (winding to case).

    Returns
    -------
    array of float, shape (B,)
        Resistance [ohm]; inf above what the tester shows.

    Raises
    ------
    UnknownPart
        For a branch the system does not have.
    """
    return _over_limit(_dc_ohm(state, branch), INSULATION_OL_OHM)


def _node(state: State, terminal: str) -> str:
    if terminal == GROUND:
        return GROUND
    if terminal not in state.plant.join:
        plant = state.plant
        raise UnknownPart("terminal", terminal, tuple(plant.join), plant.blueprint.id)
    return state.plant.join[terminal]


def _known_branch(state: State, branch: str) -> int:
    plant = state.plant
    if branch not in plant.column:
        raise UnknownPart("branch", branch, tuple(plant.column), plant.blueprint.id)
    return plant.column[branch]


def _by_level(state: State, branch: str, figure: Callable[[Level], float]) -> Array:
    column = _known_branch(state, branch)
    table = np.array([figure(level) for level in state.plant.network.branches[column].levels])
    return np.asarray(table[state.without_power.solution.levels[:, column]], dtype=np.float64)


def _dc_ohm(state: State, branch: str) -> Array:
    return _by_level(state, branch, lambda level: level.dc_ohm)


def _farad(level: Level) -> float:
    reactive = level.impedance_ohm.imag
    return -1.0 / (OMEGA_RAD_S * reactive) if reactive < 0.0 else 0.0


def _over_limit(ohm: Array, limit_ohm: float) -> Array:
    return np.where(ohm > limit_ohm, np.inf, ohm)
