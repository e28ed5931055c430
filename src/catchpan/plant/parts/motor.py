"""Motors: with run capacitor, hermetic, electronic and plain; and the capacitors themselves."""

from collections.abc import Mapping, Sequence
from typing import ClassVar

import numpy as np

from catchpan.physics.circuits.branch import (
    GROUND,
    OMEGA_RAD_S,
    OPEN,
    Branch,
    Level,
    capacitive,
    inductive,
    resistive,
)
from catchpan.plant.part import HUMMING, OFF, RUNNING, Array, Mask, Part, View

INDUCED = 1.2j
"""Voltage a turning rotor induces in the start winding, per volt on the run winding.

With it the running voltage across the capacitor is about 1.56 times the line, 375 V on 240 V
(300 to 400 V and more, trade pages).
"""

MIN_VOLTS_SHARE = 0.70
"""Below this share of rated voltage a motor does not come up to speed (assumed)."""

MIN_CAPACITOR_SHARE = 0.60
"""Below this share of the rated capacitance a loaded motor does not start (assumed)."""

MAX_CAPACITOR_SHARE = 4.0
"""Above this share the start winding's current is no longer ahead of the run winding's, as with a
shorted capacitor, and the motor does not start (assumed)."""


class Capacitor(Part):
    """A run capacitor of one or two sections (``C`` common, ``HERM`` and ``FAN``)."""

    TERMINALS = ("C", "HERM", "FAN")
    VALUES: ClassVar[Mapping[str, float]] = {"herm_uf": 40.0, "fan_uf": 0.0}

    def branches(self) -> Sequence[Branch]:
        """One branch for each section it has."""
        found = [self._section("herm", "HERM", self.number("herm_uf"))]
        if self.number("fan_uf") > 0.0:
            found.append(self._section("fan", "FAN", self.number("fan_uf")))
        return found

    def _section(self, name: str, terminal: str, microfarad: float) -> Branch:
        level = (capacitive(microfarad * 1.0e-6),)
        return Branch(self.at(name), self.at(terminal), self.at("C"), level)


class SplitCapacitorMotor(Part):
    """A permanent-split-capacitor motor, hermetic or open.

    Terminals as on a compressor: ``C`` common, ``R`` run, ``S`` start; the capacitor is wired from
    ``S`` to the line side of ``R`` outside. It turns when voltage, capacitor and bearings allow;
    otherwise it stands and draws locked-rotor current until its overload opens. ``stiffness`` is
    what a hand on the shaft feels: 0 free, above 0.3 dragging, 1 and more locked. ``torque_share``
    is its pull at equal slip over that with the rated capacitor: with a share c of the start
    winding's current the forward field is (1 + c)/2, and pull goes with its square (symmetrical
    components, balanced at the rated capacitor; the backward field's small drag left out).
    """

    TERMINALS = ("C", "R", "S")
    VALUES: ClassVar[Mapping[str, float]] = {
        "rated_volts": 240.0,
        "run_amps": 14.0,
        "locked_amps": 75.0,
        "start_ohm": 12.0,
        "run_dc_ohm": 0.8,
        "start_dc_ohm": 2.4,
        "capacitor_uf": 40.0,
        "seized": 0.0,
        "drag": 0.0,
        "overload": 1.0,
    }

    def branches(self) -> Sequence[Branch]:
        """Overload, run winding, start winding, and the insulation to the case."""
        inner = self.at("inner")
        return (
            Branch(self.at("overload"), self.at("C"), inner, (resistive(0.005), OPEN)),
            self._run_winding(inner),
            self._start_winding(inner),
            Branch(self.at("insulation"), self.at("R"), GROUND, (resistive(5.0e8),)),
        )

    def _run_winding(self, inner: str) -> Branch:
        volts, dc = self.number("rated_volts"), self.number("run_dc_ohm")
        turning = inductive(volts / self.number("run_amps"), 0.85, dc)
        standing = inductive(volts / self.number("locked_amps"), 0.6, dc)
        return Branch(self.at("run"), self.at("R"), inner, (turning, standing), switches=True)

    def _start_winding(self, inner: str) -> Branch:
        ohm, dc = self.number("start_ohm"), self.number("start_dc_ohm")
        level: Level = inductive(ohm, 0.35, dc)
        return Branch(
            self.at("start"),
            self.at("S"),
            inner,
            (level, level),
            switches=True,
            induced=(self.at("run"), INDUCED),
        )

    def start_strength(self, view: View) -> Array:
        """Share of the rated capacitance that the start winding's current shows."""
        across = view.volts(self.at("S"), self.at("R"))
        rated = OMEGA_RAD_S * self.number("capacitor_uf") * 1.0e-6 * across
        return np.where(across > 1.0, view.amps(self.at("start")) / np.maximum(rated, 1e-9), 0.0)

    def act(self, view: View) -> None:
        """Turn, stand humming, or stay silent."""
        rated = self.number("rated_volts")
        inner = self.at("inner")
        volts = view.volts(self.at("R"), inner) / rated
        fed = view.amps(self.at("overload")) > 0.03
        able = (volts > MIN_VOLTS_SHARE) & (view.amps(self.at("run")) > 0.05)
        able &= view.value(self.at("seized")) < 0.5
        strength = self.start_strength(view)
        strong = strength > MIN_CAPACITOR_SHARE + view.value(self.at("drag"))
        strong &= strength < MAX_CAPACITOR_SHARE
        running = able & strong
        self._publish(view, running, fed)
        aided = 0.5 * (1.0 + np.minimum(strength, 1.0))
        view.write(self.at("torque_share"), np.where(running, np.round(aided**2, 3), 1.0))
        view.write(self.at("starts_if_pushed"), able & ~strong)
        view.write(
            self.at("stiffness"), view.value(self.at("seized")) + view.value(self.at("drag"))
        )

    def _publish(self, view: View, running: Mask, fed: Mask) -> None:
        view.set_closed(self.at("run"), running)
        view.set_closed(self.at("start"), running)
        view.write(self.at("state"), np.where(running, RUNNING, np.where(fed, HUMMING, OFF)))
        view.write(self.at("amps"), view.amps(self.at("overload")))


class Compressor(SplitCapacitorMotor):
    """A hermetic compressor: as its motor, with valves that may no longer pump."""

    VALUES: ClassVar[Mapping[str, float]] = {**SplitCapacitorMotor.VALUES, "pumps": 1.0}


class ElectronicBlower(Part):
    """A blower motor with its own electronics: line power always on, told to run by 24 V."""

    TERMINALS = ("L1", "L2", "input", "C")
    VALUES: ClassVar[Mapping[str, float]] = {
        "rated_volts": 240.0,
        "watts": 400.0,
        "module_ok": 1.0,
        "seized": 0.0,
    }

    def branches(self) -> Sequence[Branch]:
        """Line load (running or idle) and the 24 V input."""
        volts = self.number("rated_volts")
        running = inductive(volts**2 / self.number("watts") * 0.7, 0.7, 5.0e5)
        idle = inductive(volts**2 / 6.0, 0.5, 5.0e5)
        return (
            Branch(self.at("run"), self.at("L1"), self.at("L2"), (running, idle), switches=True),
            Branch(self.at("sense"), self.at("input"), self.at("C"), (resistive(3000.0),)),
        )

    def act(self, view: View) -> None:
        """Run when fed, told to and able."""
        fed = view.volts(self.at("L1"), self.at("L2")) > 0.75 * self.number("rated_volts")
        told = view.volts(self.at("input"), self.at("C")) > 15.0
        able = (view.value(self.at("module_ok")) > 0.5) & (view.value(self.at("seized")) < 0.5)
        running = fed & told & able
        view.set_closed(self.at("run"), running)
        view.write(self.at("state"), np.where(running, RUNNING, OFF))
        view.write(self.at("starts_if_pushed"), 0.0)
        view.write(self.at("stiffness"), view.value(self.at("seized")))
        view.write(self.at("amps"), view.amps(self.at("run")))


class PlainMotor(Part):
    """A small motor without a capacitor: inducer, condensate pump."""

    TERMINALS = ("L1", "L2")
    VALUES: ClassVar[Mapping[str, float]] = {
        "rated_volts": 120.0,
        "run_amps": 1.2,
        "dc_ohm": 15.0,
        "seized": 0.0,
    }

    def branches(self) -> Sequence[Branch]:
        """Return the winding, turning or standing."""
        ohm = self.number("rated_volts") / self.number("run_amps")
        dc = self.number("dc_ohm")
        levels = (inductive(ohm, 0.6, dc), inductive(ohm / 2.2, 0.5, dc))
        return (Branch(self.at("run"), self.at("L1"), self.at("L2"), levels, switches=True),)

    def act(self, view: View) -> None:
        """Turn when fed and free."""
        fed = view.amps(self.at("run")) > 0.05
        volts = view.volts(self.at("L1"), self.at("L2")) > 0.7 * self.number("rated_volts")
        running = fed & volts & (view.value(self.at("seized")) < 0.5)
        view.set_closed(self.at("run"), running)
        view.write(self.at("state"), np.where(running, RUNNING, np.where(fed, HUMMING, OFF)))
        view.write(self.at("amps"), view.amps(self.at("run")))
