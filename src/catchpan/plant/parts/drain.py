"""Condensate: where the water the coil makes goes, and where it stands."""

from collections.abc import Mapping, Sequence
from typing import ClassVar

import numpy as np

from catchpan.physics.circuits.branch import Branch
from catchpan.plant.part import RUNNING, Part, View
from catchpan.plant.parts.motor import PlainMotor

FLOWING = 1.0e-6
"""Condensate above this counts as flowing [kg/s], about a drop a second."""

SUCKED_LEVEL = 0.4
"""Height at which water stands against the suction when the trap holds no seal: the pan's
negative pressure, about half an inch, in a pan of an inch and a quarter (common practice)."""


class Pan(Part):
    """Primary pan, trap, line and what lies below.

    ``primary`` and ``aux`` are heights as shares of each pan's depth. What stands in the primary
    pan drains by itself once its way out is clear; what stands in an auxiliary pan without a
    drain stays until somebody takes it out.
    """

    VALUES: ClassVar[Mapping[str, float]] = {
        "trap_blocked": 0.0,
        "line_blocked": 0.0,
        "air_held": 0.0,
        "cracked": 0.0,
        "tilted": 0.0,
        "primary": 0.0,
        "aux": 0.0,
        "aux_pan": 1.0,
        "aux_drain": 0.0,
        "secondary_open": 1.0,
        "dry_trap": 0.0,
        "pumped": 0.0,
        "over_furnace": 0.0,
        "sweats": 0.0,
        "cabinet_sweats": 0.0,
        "line_leaks": 0.0,
        "aux_leaks": 0.0,
        "seal_pa": 250.0,
    }

    def act(self, view: View) -> None:
        """Follow the water down."""
        makes = view.signal("condensate.kg_s") > FLOWING
        held, sucked = self._held(view), self._sucked(view)
        view.write("pan.blocked", held)
        view.write("pan.makes_water", makes)
        stands = np.maximum(view.value(self.at("primary")) * held, SUCKED_LEVEL * sucked * makes)
        view.write("water.primary", stands)
        aux = view.value(self.at("aux"))
        view.write("water.aux", np.where(view.value(self.at("aux_drain")) > 0.5, 0.0, aux))
        view.write("pan.backs_up", makes & held)
        full = view.signal("water.primary") > 0.6
        leaks = makes & (
            (view.value(self.at("cracked")) > 0.5)
            | (view.value(self.at("tilted")) > 0.5)
            | (view.value(self.at("cabinet_sweats")) > 0.5)
            | sucked
        )
        broken = view.value(self.at("line_leaks")) > 0.5
        elsewhere = makes & ((view.value(self.at("sweats")) > 0.5) | (broken & ~held))
        spills = (makes & held & full) | leaks | (view.signal("coil.thaws") > 0.5)
        self._below(view, spills, elsewhere, makes & ~held & ~sucked & ~broken)
        self._ways_out(view, held | sucked)

    def _held(self, view: View) -> np.ndarray:
        plug = np.maximum(view.value(self.at("trap_blocked")), view.value(self.at("line_blocked")))
        held = (plug > 0.5) | (view.value(self.at("air_held")) > 0.5)
        if self.number("pumped") > 0.5:
            held |= view.signal("water.pump") > 0.9
        return np.asarray(held)

    def _sucked(self, view: View) -> np.ndarray:
        """Air drawn up an unsealed trap by a coil on the suction side: water sprays and stands."""
        open_trap = (view.value(self.at("dry_trap")) > 0.5) & (self.number("over_furnace") < 0.5)
        return np.asarray(open_trap & (view.signal("air.flow_share") > 0.2))

    def _ways_out(self, view: View, shut: np.ndarray) -> None:
        """Publish how freely poured water leaves, and whether it stands at the cleanout tee."""
        plug = np.maximum(view.value(self.at("trap_blocked")), view.value(self.at("line_blocked")))
        over = view.signal("air.suction_pa") > view.value(self.at("seal_pa"))
        view.write("pan.loses_seal", over & (self.number("over_furnace") < 0.5))
        view.write("pan.seal", view.value(self.at("dry_trap")) < 0.5)
        view.write("drain.open_share", np.where(shut, 0.0, 1.0 - plug))
        line = view.value(self.at("line_blocked")) > 0.5
        line |= view.value(self.at("air_held")) > 0.5
        fed = (view.signal("water.primary") > 0.2) | (view.signal("pan.makes_water") > 0.5)
        view.write("water.tee", line & fed)

    def _below(
        self, view: View, spills: np.ndarray, elsewhere: np.ndarray, drains: np.ndarray
    ) -> None:
        has_pan = self.number("aux_pan") > 0.5
        drained = view.value(self.at("aux_drain")) > 0.5
        full = view.signal("water.aux") > 0.9
        into_aux = spills & has_pan
        holed = view.value(self.at("aux_leaks")) > 0.5
        view.write("spill.aux", into_aux & ~drained & ~holed)
        view.write("spill.secondary_outlet", into_aux & drained)
        past = (spills & (not has_pan)) | (into_aux & ((~drained & full) | holed))
        over = self.number("over_furnace") > 0.5
        view.write("spill.furnace", past & over)
        view.write("spill.floor", past | elsewhere)
        view.write("drain.outlet_flow", drains)


class CondensatePump(PlainMotor):
    """A condensate pump: reservoir, float, small motor and the tube it lifts through."""

    VALUES: ClassVar[Mapping[str, float]] = {
        **PlainMotor.VALUES,
        "run_amps": 0.9,
        "reservoir": 0.0,
        "tube_blocked": 0.0,
        "float_works": 1.0,
    }

    def branches(self) -> Sequence[Branch]:
        """Return the float's own contact (shown as made: water is at hand) and the winding."""
        winding = super().branches()[0]
        middle = self.at("m")
        return (
            self.contact("float", "L1", "m"),
            Branch(winding.id, middle, winding.b, winding.levels, winding.switches),
        )

    def act(self, view: View) -> None:
        """Publish whether the reservoir fills faster than it is emptied."""
        view.set_closed(self.at("float"), view.value(self.at("float_works")) > 0.5)
        super().act(view)
        runs = view.signal(self.at("state")) == RUNNING
        lifts = runs & (view.value(self.at("tube_blocked")) < 0.5)
        view.write(self.at("lifts"), lifts)
        fed = view.signal("pan.makes_water") > 0.5
        view.write("water.pump", np.where(lifts, 0.0, view.value(self.at("reservoir"))))
        view.write("pump.fills", fed & ~lifts)
        view.write("pump.spills", fed & ~lifts & (view.value(self.at("reservoir")) > 0.9))


class Marks(Part):
    """Traces that stay until somebody puts them right: wet places and what they did."""

    VALUES: ClassVar[Mapping[str, float]] = {
        "floor_wet": 0.0,
        "ceiling_wet": 0.0,
        "cabinet_wet": 0.0,
        "stained": 0.0,
    }

    def act(self, view: View) -> None:
        """Publish them as they are."""
        for name in self.VALUES:
            view.write(self.at(name), view.value(self.at(name)))
