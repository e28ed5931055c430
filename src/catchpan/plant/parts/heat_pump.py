"""What a heat pump has besides: reversing valve, defrost board, outdoor sensors."""

from collections.abc import Mapping, Sequence
from typing import ClassVar

import numpy as np

from catchpan.physics.circuits.branch import Branch, inductive, resistive
from catchpan.plant.part import Mask, Part, View
from catchpan.plant.parts.control import ELECTRONICS_V, PULL_IN_V


class ReversingValve(Part):
    """The four-way valve's solenoid; with it energised a valve of the O type cools."""

    TERMINALS = ("A1", "A2")
    VALUES: ClassVar[Mapping[str, float]] = {
        "coil_ohm": 96.0,
        "dc_ohm": 30.0,
        "slides": 1.0,
        "energised_cools": 1.0,
        "leaks": 0.0,
    }

    def branches(self) -> Sequence[Branch]:
        """Return the solenoid."""
        coil = (inductive(self.number("coil_ohm"), 0.5, self.number("dc_ohm")),)
        return (Branch(self.at("coil"), self.at("A1"), self.at("A2"), coil),)

    def act(self, view: View) -> None:
        """Publish whether the valve stands in the cooling position."""
        pulled = (view.amps(self.at("coil")) > 0.05) & (
            view.volts(self.at("A1"), self.at("A2")) > PULL_IN_V
        )
        cools_pulled = self.number("energised_cools") > 0.5
        position = pulled if cools_pulled else ~pulled
        stuck = view.value(self.at("slides"))
        position = (position & (stuck > 0.5)) | (stuck < -0.5)
        view.write(self.at("cooling"), position)
        view.write(self.at("energised"), pulled)
        view.write(self.at("leak_share"), view.value(self.at("leaks")))


class DefrostBoard(Part):
    """Passes the call for the compressor through its delay, feeds the fan relay and the valve."""

    TERMINALS = ("R", "C", "Y", "Y_out", "O", "O_out", "W_out", "fan_in", "fan_out")
    VALUES: ClassVar[Mapping[str, float]] = {
        "works": 1.0,
        "stuck_in_defrost": 0.0,
        "never_defrosts": 0.0,
        "fan_relay_ok": 1.0,
        "hold_off_s": 300.0,
    }

    def branches(self) -> Sequence[Branch]:
        """Board supply and its relays."""
        return (
            Branch(self.at("supply"), self.at("R"), self.at("C"), (resistive(400.0),)),
            self.contact("y_relay", "Y", "Y_out"),
            self.contact("o_relay", "O", "O_out"),
            self.contact("o_defrost", "R", "O_out"),
            self.contact("w_relay", "R", "W_out"),
            self.contact("fan_relay", "fan_in", "fan_out"),
        )

    def act(self, view: View) -> None:
        """Pass calls through while powered; in defrost stop the fan, call strips and cool."""
        alive = view.volts(self.at("R"), self.at("C")) > ELECTRONICS_V
        alive &= view.value(self.at("works")) > 0.5
        defrost = alive & self._wants_defrost(view)
        waited = view.around.since_power_s >= self.number("hold_off_s")
        view.set_closed(self.at("y_relay"), alive & waited)
        view.set_closed(self.at("o_relay"), ~defrost)
        cools_pulled = view.value_or("reversing_valve.energised_cools", 1.0) > 0.5
        view.set_closed(self.at("o_defrost"), defrost & cools_pulled)
        view.set_closed(self.at("w_relay"), defrost)
        fan = ~defrost & (view.value(self.at("fan_relay_ok")) > 0.5)
        view.set_closed(self.at("fan_relay"), fan)
        view.write(self.at("in_defrost"), defrost)

    def _wants_defrost(self, view: View) -> Mask:
        """In the minutes of a defrost, or all the time when it never ends; only in heating."""
        due = view.around.defrosting & (view.value(self.at("never_defrosts")) < 0.5)
        stuck = view.value(self.at("stuck_in_defrost")) > 0.5
        return np.asarray((due | stuck) & view.calls_for("heat"), dtype=bool)
