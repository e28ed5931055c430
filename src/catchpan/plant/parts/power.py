"""Line-voltage supply: service, breakers, disconnects, switches, fuses, the transformer."""

import cmath
import math
from collections.abc import Mapping, Sequence
from typing import ClassVar

import numpy as np

from catchpan.physics.circuits.branch import (
    GROUND,
    Branch,
    Transformer,
    inductive,
    resistive,
)
from catchpan.plant.part import Part, View


class Service(Part):
    """The two line legs from the utility; neutral is bonded to ground at the panel."""

    TERMINALS = ("L1", "L2")
    VALUES: ClassVar[Mapping[str, float]] = {
        "leg_volts": 120.0,
        "leg_ohm": 0.04,
        "phase_deg": 180.0,
    }

    def branches(self) -> Sequence[Branch]:
        """Two sources against ground with the service's impedance."""
        leg, angle = self.number("leg_volts"), math.radians(self.number("phase_deg"))
        level = (resistive(self.number("leg_ohm")),)
        return (
            Branch(self.at("leg1"), self.at("L1"), GROUND, level, emf_v=complex(leg)),
            Branch(self.at("leg2"), self.at("L2"), GROUND, level, emf_v=cmath.rect(leg, angle)),
        )

    def act(self, view: View) -> None:
        """Publish the voltage across both legs."""
        view.write(self.at("volts"), view.volts(self.at("L1"), self.at("L2")))


class Breaker(Part):
    """A breaker of one or two poles. Whether it is on is a value; what trips it, a consequence."""

    TERMINALS = ("in1", "in2", "out1", "out2")
    VALUES: ClassVar[Mapping[str, float]] = {"poles": 2.0, "rating_a": 30.0, "on": 1.0}

    def branches(self) -> Sequence[Branch]:
        """One contact for each pole."""
        first = self.contact("pole1", "in1", "out1")
        if self.number("poles") < 2:
            return (first,)
        return (first, self.contact("pole2", "in2", "out2"))

    def act(self, view: View) -> None:
        """Close while on; publish the load of the fuller pole as a multiple of the rating."""
        closed = view.value(self.at("on")) > 0.5
        for branch in self.branches():
            view.set_closed(branch.id, closed)
        amps = np.max([view.amps(branch.id) for branch in self.branches()], axis=0)
        view.write(self.at("amps"), amps)
        view.write(self.at("overload"), amps / self.number("rating_a"))
        view.write(self.at("is_on"), closed)


class Switch(Part):
    """A switch set by hand or by a cover: service switch, disconnect pole, door switch."""

    TERMINALS = ("a", "b", "a2", "b2")
    VALUES: ClassVar[Mapping[str, float]] = {"poles": 1.0, "closed": 1.0}

    def branches(self) -> Sequence[Branch]:
        """One contact for each pole."""
        first = self.contact("contact", "a", "b")
        if self.number("poles") < 2:
            return (first,)
        return (first, self.contact("contact2", "a2", "b2"))

    def act(self, view: View) -> None:
        """Close while set closed."""
        closed = view.value(self.at("closed")) > 0.5
        for branch in self.branches():
            view.set_closed(branch.id, closed)
        view.write(self.at("is_closed"), closed)


class Fuse(Part):
    """A fuse; that it has blown is a condition, what blows it a consequence."""

    TERMINALS = ("a", "b")
    VALUES: ClassVar[Mapping[str, float]] = {"rating_a": 5.0, "ohm": 0.01}

    def branches(self) -> Sequence[Branch]:
        """Return the link."""
        link = (resistive(self.number("ohm")),)
        return (Branch(self.at("link"), self.at("a"), self.at("b"), link),)

    def act(self, view: View) -> None:
        """Publish the load as a multiple of the rating, and the highest it reached on the way.

        A short that robs the controls of their voltage makes them drop out and try again; the
        fuse feels the peaks, although in between it carries next to nothing.
        """
        amps = view.amps(self.at("link"))
        load = amps / self.number("rating_a")
        view.write(self.at("amps"), amps)
        view.write(self.at("overload"), load)
        view.write(self.at("peak"), np.maximum(view.signal(self.at("peak")), load))


class ControlTransformer(Part):
    """A step-down transformer: above 24 V with no load, sagging to 24 V at its rated VA.

    The regulation is split between the primary winding's resistance and the secondary's.
    Source: 24 to 28 V loaded to unloaded, common practice, no source.
    """

    TERMINALS = ("p1", "p2", "s1", "s2")
    VALUES: ClassVar[Mapping[str, float]] = {
        "va": 40.0,
        "tap_volts": 240.0,
        "open_volts": 27.0,
        "rated_volts": 24.0,
    }

    def branches(self) -> Sequence[Branch]:
        """Return the primary winding in series, then the magnetising branch."""
        tap, va = self.number("tap_volts"), self.number("va")
        winding = self._regulation_ohm() / 2.0 * (tap / self.number("open_volts")) ** 2
        magnetising = tap**2 / (0.15 * va)
        core = self.at("core")
        return (
            Branch(self.at("primary"), self.at("p1"), core, (resistive(winding),)),
            Branch(
                self.at("magnetising"),
                core,
                self.at("p2"),
                (inductive(magnetising, 0.3, 1.0e-3),),
            ),
        )

    def transformers(self) -> Sequence[Transformer]:
        """Return the turns ratio with the secondary winding's resistance."""
        return (
            Transformer(
                self.at("secondary"),
                (self.at("core"), self.at("p2")),
                (self.at("s1"), self.at("s2")),
                self.number("open_volts") / self.number("tap_volts"),
                (resistive(self._regulation_ohm() / 2.0),),
            ),
        )

    def _regulation_ohm(self) -> float:
        drop = self.number("open_volts") - self.number("rated_volts")
        return drop * self.number("rated_volts") / self.number("va")

    def act(self, view: View) -> None:
        """Publish secondary voltage, and load as a multiple of rated current."""
        rated = self.number("va") / self.number("rated_volts")
        view.write(self.at("volts"), view.volts(self.at("s1"), self.at("s2")))
        view.write(self.at("overload"), view.amps(self.at("secondary")) / rated)
