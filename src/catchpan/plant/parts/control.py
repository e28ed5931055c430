"""The 24 V side: thermostat, cable, float and safety switches, contactor, relays."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import ClassVar

import numpy as np

from catchpan.physics.circuits.branch import (
    Branch,
    capacitive,
    inductive,
    resistive,
)
from catchpan.plant.part import Mask, Part, View

PULL_IN_V = 18.0
"""A 24 V coil must close at 75 % of rating (data sheets, from memory)."""

DROP_OUT_V = 12.0
"""Typical drop-out, 6 to 15 V (data sheets, from memory)."""

ELECTRONICS_V = 18.0
"""Below this, control electronics stop working (common practice, no source)."""

AUX_DELAY_S = 900.0
"""A thermostat brings on the strips when the room has kept falling this long (assumed)."""

AUX_BELOW_SHARE = 0.6
"""Share of the heat pump's capacity below which the room keeps falling (assumed)."""


class Cable(Part):
    """A multi-conductor thermostat cable; its other wires couple to one that floats.

    About 50 pF/m between neighbouring conductors (common practice, no source).
    """

    VALUES: ClassVar[Mapping[str, float]] = {"length_m": 15.0, "picofarad_per_m": 50.0}
    NAMES: ClassVar[Mapping[str, str]] = {"conductors": "R C Y G W"}

    def conductors(self) -> list[str]:
        """Names of the conductors, in the order they lie in the jacket."""
        return self.word("conductors").split()

    def branches(self) -> Sequence[Branch]:
        """Return a coupling capacitor between each two neighbours at the thermostat end."""
        names = self.conductors()
        pairs = [*pairwise(names), (names[-1], names[0])]
        farad = self.number("length_m") * self.number("picofarad_per_m") * 1.0e-12
        return [
            Branch(self.at(f"{a}{b}"), self.at(f"{a}2"), self.at(f"{b}2"), (capacitive(farad),))
            for a, b in pairs
        ]


class Thermostat(Part):
    """Closes R to Y, G, W, O or B on a call, if it has a supply: R to C, or batteries.

    Batteries alone light the display and move the contacts, but cannot make 24 V: with R dead
    the contacts close on nothing. Without either, it closes nothing.
    """

    TERMINALS = ("R", "C", "Y", "G", "W", "O", "B")
    VALUES: ClassVar[Mapping[str, float]] = {
        "battery": 0.0,
        "c_wire": 1.0,
        "display_ok": 1.0,
        "obeys": 1.0,
        "mode_ok": 1.0,
        "heat_pump": 0.0,
        "fan_in_heat": 0.0,
        "fan_on": 0.0,
        "aux_with_heat": 0.0,
        "stuck_call": 0.0,
        "valve_swapped": 0.0,
        "aux_helps": 1.0,
        "hold_off_s": 300.0,
    }

    def branches(self) -> Sequence[Branch]:
        """Return the display's supply and one contact for each call."""
        display = (resistive(24.0**2 / 2.0),)
        found = [self.contact(name, "R", name) for name in ("Y", "G", "W", "O", "B")]
        if self.number("c_wire") > 0.5:
            found.append(Branch(self.at("supply"), self.at("R"), self.at("C"), display))
        return found

    def act(self, view: View) -> None:
        """Decide display and contacts."""
        wired = view.value(self.at("c_wire")) * view.volts(self.at("R"), self.at("C"))
        cells = view.value(self.at("battery")) * view.value_or("stat_cell.good", 1.0)
        battery = cells > 0.5
        powered = (wired > ELECTRONICS_V) | battery
        shown = powered & (view.value(self.at("display_ok")) > 0.5)
        view.write(self.at("display"), shown)
        obeys = (
            powered & (view.value(self.at("obeys")) > 0.5) & (view.value(self.at("mode_ok")) > 0.5)
        )
        stuck = view.value(self.at("stuck_call")) > 0.5
        view.write(self.at("calling"), obeys & (not view.calls_for("off")))
        cool, heat, emergency = (view.calls_for(m) for m in ("cool", "heat", "emergency"))
        pump = self.number("heat_pump") > 0.5
        aux = (view.value(self.at("aux_with_heat")) > 0.5) | self._behind(view)
        stage_y = cool or (heat and pump)
        waited = view.around.since_power_s >= self.number("hold_off_s")
        view.write(self.at("waiting"), obeys & (stage_y and not waited))
        view.set_closed(self.at("Y"), (obeys | (stuck & powered)) & (stage_y and waited))
        gas_heat = (heat or emergency) and not pump
        strips = ((obeys & heat & aux) | (obeys & emergency)) if pump else obeys & gas_heat
        view.write(self.at("aux_in_heat"), obeys & heat & aux & pump)
        view.set_closed(self.at("W"), strips | (stuck & powered & (heat or not pump)))
        always = view.value(self.at("fan_on")) > 0.5
        fan_heat = bool(self.number("fan_in_heat"))
        fan = cool or view.calls_for("fan") or (fan_heat and (heat or emergency))
        view.set_closed(self.at("G"), obeys & (fan | always))
        swapped = view.value(self.at("valve_swapped")) > 0.5
        view.set_closed(self.at("O"), obeys & np.where(swapped, heat, cool))
        view.set_closed(self.at("B"), obeys & np.where(swapped, cool, heat))

    def _behind(self, view: View) -> Mask:
        """Tell whether the heat pump has fallen behind for a quarter hour and gets its strips."""
        waited = view.around.since_call_s >= AUX_DELAY_S
        weak = view.signal("cycle.capacity_share") < AUX_BELOW_SHARE
        weak |= view.signal("reversing_valve.cooling") > 0.5
        weak |= view.signal("seq1.lends_air") > 0.5
        return (view.value(self.at("aux_helps")) > 0.5) & weak & waited


class Battery(Part):
    """The thermostat's batteries."""

    VALUES: ClassVar[Mapping[str, float]] = {"good": 1.0}


class LevelSwitch(Part):
    """A float or water-level switch: opens when the vessel it watches stands high."""

    TERMINALS = ("a", "b")
    VALUES: ClassVar[Mapping[str, float]] = {"trip_level": 0.5, "free": 1.0, "stuck_up": 0.0}
    NAMES: ClassVar[Mapping[str, str]] = {"vessel": "water.primary"}

    def branches(self) -> Sequence[Branch]:
        """Return the normally closed contact."""
        return (self.contact("contact", "a", "b"),)

    def act(self, view: View) -> None:
        """Open above the trip level, if the float is free to move."""
        level = view.signal(self.word("vessel"))
        wet = (level > self.number("trip_level")) & (view.value(self.at("free")) > 0.5)
        up = wet | (view.value(self.at("stuck_up")) > 0.5)
        view.set_closed(self.at("contact"), ~up)
        view.write(self.at("tripped"), up)
        view.write(self.at("rises"), view.value(self.at("free")))


class SafetySwitch(Part):
    """A switch that a value opens: pressure, limit, rollout. Opens where ``open`` is set."""

    TERMINALS = ("a", "b")
    VALUES: ClassVar[Mapping[str, float]] = {"open": 0.0}

    def branches(self) -> Sequence[Branch]:
        """Return the normally closed contact."""
        return (self.contact("contact", "a", "b"),)

    def act(self, view: View) -> None:
        """Stay closed unless opened by a condition."""
        tripped = view.value(self.at("open")) > 0.5
        view.set_closed(self.at("contact"), ~tripped)
        view.write(self.at("tripped"), tripped)


class Contactor(Part):
    """A 24 V contactor of one or two poles; the coil draws more current before it has closed."""

    TERMINALS = ("A1", "A2", "L1", "L2", "T1", "T2")
    VALUES: ClassVar[Mapping[str, float]] = {
        "poles": 2.0,
        "sealed_ohm": 72.0,
        "inrush_ohm": 24.0,
        "dc_ohm": 14.0,
        "blocked": 0.0,
        "jammed": 0.0,
    }

    def branches(self) -> Sequence[Branch]:
        """Coil (sealed or not yet) and poles."""
        coil = Branch(
            self.at("coil"),
            self.at("A1"),
            self.at("A2"),
            (
                inductive(self.number("sealed_ohm"), 0.5, self.number("dc_ohm")),
                inductive(self.number("inrush_ohm"), 0.7, self.number("dc_ohm")),
            ),
            switches=True,
        )
        poles = [self.contact("pole1", "L1", "T1")]
        if self.number("poles") > 1:
            poles.append(self.contact("pole2", "L2", "T2"))
        return (coil, *poles)

    def act(self, view: View) -> None:
        """Pull in above 18 V, hold down to 12 V.

        Insects or dirt can keep the poles apart (``blocked``), a stuck armature does not move at
        all (``jammed``).
        """
        volts = view.volts(self.at("A1"), self.at("A2"))
        current = view.amps(self.at("coil")) > 0.05
        was = view.is_closed(self.at("coil"))
        view.write(self.at("chatters"), 0.0)
        armature = current & ((volts >= PULL_IN_V) | (was & (volts > DROP_OUT_V)))
        armature &= view.value(self.at("jammed")) < 0.5
        view.set_closed(self.at("coil"), armature)
        made = armature & (view.value(self.at("blocked")) < 0.5)
        for branch in self.branches()[1:]:
            view.set_closed(branch.id, made)
        view.write(self.at("pulled_in"), armature)
        view.write(self.at("coil_volts"), volts)
        view.write(self.at("hums"), current & ~armature & (volts > 6.0))


class Relay(Part):
    """A small 24 V relay with one normally open and one normally closed contact."""

    TERMINALS = ("A1", "A2", "com", "no", "nc")
    VALUES: ClassVar[Mapping[str, float]] = {"coil_ohm": 190.0, "dc_ohm": 60.0, "delay": 0.0}

    def branches(self) -> Sequence[Branch]:
        """Coil and both contacts."""
        coil = (inductive(self.number("coil_ohm"), 0.6, self.number("dc_ohm")),)
        return (
            Branch(self.at("coil"), self.at("A1"), self.at("A2"), coil),
            self.contact("no", "com", "no"),
            self.contact("nc", "com", "nc"),
        )

    def act(self, view: View) -> None:
        """Pull in above 18 V, hold down to 12 V."""
        volts = view.volts(self.at("A1"), self.at("A2"))
        current = view.amps(self.at("coil")) > 0.005
        was = view.is_closed(self.at("no"))
        pulled = current & ((volts >= PULL_IN_V) | (was & (volts > DROP_OUT_V)))
        view.set_closed(self.at("no"), pulled)
        view.set_closed(self.at("nc"), ~pulled)
        view.write(self.at("pulled_in"), pulled)
        view.write(self.at("carries"), view.amps(self.at("no")) > 0.05)


class Sequencer(Part):
    """A time-delay relay of an electric heater: a heated disc that closes its contacts."""

    TERMINALS = ("A1", "A2", "com", "no", "aux_com", "aux_no")
    VALUES: ClassVar[Mapping[str, float]] = {"coil_ohm": 120.0, "warm_up_s": 30.0}

    def branches(self) -> Sequence[Branch]:
        """Heater, main contact, auxiliary contact."""
        return (
            Branch(
                self.at("coil"), self.at("A1"), self.at("A2"), (resistive(self.number("coil_ohm")),)
            ),
            self.contact("main", "com", "no"),
            self.contact("aux", "aux_com", "aux_no"),
        )

    def act(self, view: View) -> None:
        """Close once the heater is warm (the half minute has passed)."""
        waited = view.around.since_call_s >= self.number("warm_up_s")
        warm = (
            waited
            & (view.amps(self.at("coil")) > 0.05)
            & (view.volts(self.at("A1"), self.at("A2")) > PULL_IN_V)
        )
        view.set_closed(self.at("main"), warm)
        view.set_closed(self.at("aux"), warm)
        view.write(self.at("pulled_in"), warm)
        view.write(self.at("lends_air"), warm & (view.signal("blower_relay.carries", 1.0) < 0.5))
