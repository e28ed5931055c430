"""Resistance heaters in the air handler."""

from collections.abc import Mapping, Sequence
from typing import ClassVar

from catchpan.physics.circuits.branch import CLOSED, Branch, resistive
from catchpan.plant.part import Part, View


class HeatElement(Part):
    """One heater element with its own limit switch and one-time link in series."""

    TERMINALS = ("a", "b")
    VALUES: ClassVar[Mapping[str, float]] = {"kilowatt": 5.0, "rated_volts": 240.0}

    def branches(self) -> Sequence[Branch]:
        """Limit, thermal link, element."""
        ohm = self.number("rated_volts") ** 2 / (self.number("kilowatt") * 1000.0)
        return (
            Branch(self.at("limit"), self.at("a"), self.at("n1"), (CLOSED,)),
            Branch(self.at("link"), self.at("n1"), self.at("n2"), (CLOSED,)),
            Branch(self.at("wire"), self.at("n2"), self.at("b"), (resistive(ohm),)),
        )

    def act(self, view: View) -> None:
        """Publish heat from the current it draws."""
        ohm = self.number("rated_volts") ** 2 / (self.number("kilowatt") * 1000.0)
        amps = view.amps(self.at("wire"))
        view.write(self.at("amps"), amps)
        view.write(self.at("watts"), amps**2 * ohm)
