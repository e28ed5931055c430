"""A gas furnace: control board and its sequence, inducer draft, ignitor, gas valve, flame."""

from collections.abc import Mapping, Sequence
from typing import ClassVar, NamedTuple

import numpy as np

from catchpan.physics.circuits.branch import Branch, inductive, resistive
from catchpan.plant.part import RUNNING, Mask, Part, View
from catchpan.plant.parts.control import ELECTRONICS_V
from catchpan.plant.parts.motor import PlainMotor

LED_OFF, LED_NORMAL, LED_PRESSURE, LED_LIMIT, LED_IGNITION, LED_FLAME, LED_STUCK = (
    0.0,
    1.0,
    2.0,
    3.0,
    4.0,
    5.0,
    6.0,
)
"""What the board's lamp says, in general words: dark, normal, pressure switch not closed, limit
or rollout open, no ignition or flame lost (lockout), flame without a call, pressure switch stuck
closed. Which number of blinks stands for which is on the label inside the door."""

FLAME_MIN_UA = 0.5
"""Below this the board does not prove flame (0.5 drops out, common practice, no source)."""


class FurnaceBoard(Part):
    """The furnace control: takes W, G and Y; runs inducer, ignitor, gas valve and blower in turn.

    Sequence on a call for heat: limits closed, pressure switch open, inducer on, pressure switch
    closes, ignitor warms, gas valve opens, flame proven, blower on after its delay. With a limit
    open the blower runs to cool the furnace. With ``blower_by_timer`` a timer started by the call
    brings on the blower whether or not a flame burns, as on older fan timers and some boards.
    Common practice; ANSI Z21.47 as cited in facts.
    """

    TERMINALS = (
        "L1",
        "N",
        "R",
        "C",
        "W",
        "G",
        "limit_out",
        "limit_in",
        "ps_out",
        "ps_in",
        "valve",
        "inducer",
        "ignitor",
        "blower",
        "blower_call",
    )
    VALUES: ClassVar[Mapping[str, float]] = {
        "works": 1.0,
        "inducer_relay_ok": 1.0,
        "ignitor_relay_ok": 1.0,
        "valve_relay_ok": 1.0,
        "blower_relay_ok": 1.0,
        "blower_relay_welded": 0.0,
        "senses_flame": 1.0,
        "purge_s": 15.0,
        "warm_up_s": 30.0,
        "blower_on_s": 30.0,
        "post_purge_s": 15.0,
        "blower_off_s": 120.0,
        "blower_by_timer": 0.0,
        "locked_out": 0.0,
    }

    def branches(self) -> Sequence[Branch]:
        """Board supply, inputs, sense lines and output relays."""
        load = (resistive(200.0),)
        sense = (resistive(2000.0),)
        return (
            Branch(self.at("supply"), self.at("R"), self.at("C"), load),
            Branch(self.at("w_input"), self.at("W"), self.at("C"), sense),
            Branch(self.at("g_input"), self.at("G"), self.at("C"), sense),
            Branch(self.at("limit_feed"), self.at("R"), self.at("limit_out"), (resistive(0.05),)),
            Branch(self.at("limit_sense"), self.at("limit_in"), self.at("C"), sense),
            self.contact("ps_feed", "limit_in", "ps_out"),
            Branch(self.at("ps_sense"), self.at("ps_in"), self.at("C"), sense),
            self.contact("valve_relay", "ps_in", "valve"),
            self.contact("inducer_relay", "L1", "inducer"),
            self.contact("ignitor_relay", "L1", "ignitor"),
            self.contact("blower_relay", "L1", "blower"),
            self.contact("blower_tell", "R", "blower_call"),
        )

    def act(self, view: View) -> None:
        """One pass through the sequence; each pass goes as far as the circuit allows."""
        alive = (view.volts(self.at("R"), self.at("C")) > ELECTRONICS_V) & (
            view.volts(self.at("L1"), self.at("N")) > 90.0
        )
        alive &= view.value(self.at("works")) > 0.5
        call = alive & (view.volts(self.at("W"), self.at("C")) > ELECTRONICS_V)
        limits = view.volts(self.at("limit_in"), self.at("C")) > ELECTRONICS_V
        drawn = view.volts(self.at("ps_in"), self.at("C")) > ELECTRONICS_V
        view.set_closed(self.at("ps_feed"), alive)
        stuck = view.value_or("pressure_switch.stuck_closed", 0.0) > 0.5
        go = call & limits & ~stuck
        lit = view.signal("burner.lit") > 0.5
        go &= view.value(self.at("locked_out")) < 0.5
        self._heat(view, go, go & drawn, lit)
        self._blow(view, alive, call, limits, lit)
        self._lamp(view, Inputs(alive, call, limits, drawn, stuck))

    def _heat(self, view: View, go: Mask, drafted: Mask, lit: Mask) -> None:
        clock = view.around.since_call_s
        after = self._just_ended(view, self.number("post_purge_s"))
        purging = (view.volts(self.at("R"), self.at("C")) > ELECTRONICS_V) & after
        inducer = (go | purging) & (view.value(self.at("inducer_relay_ok")) > 0.5)
        view.set_closed(self.at("inducer_relay"), inducer)
        warm_at = self.number("purge_s")
        warm = drafted & (clock >= warm_at) & (view.value(self.at("ignitor_relay_ok")) > 0.5)
        view.set_closed(self.at("ignitor_relay"), warm)
        glowing = view.signal("ignitor.glows") > 0.5
        gas = (
            drafted
            & (clock >= warm_at + self.number("warm_up_s"))
            & (view.value(self.at("valve_relay_ok")) > 0.5)
        )
        view.set_closed(self.at("valve_relay"), gas)
        proven = lit & (view.value_or("flame_sensor.microamp", 3.0) > FLAME_MIN_UA)
        proven &= view.value(self.at("senses_flame")) > 0.5
        view.write("furnace.proven", proven)
        view.write("furnace.called", go)
        view.write("furnace.drafted", drafted)
        view.write("furnace.warmed", glowing)

    def _just_ended(self, view: View, seconds: float) -> bool:
        around = view.around
        return around.ended == "heat" and around.since_end_s < seconds

    def _blow(self, view: View, alive: Mask, call: Mask, limits: Mask, lit: Mask) -> None:
        fan = alive & (view.volts(self.at("G"), self.at("C")) > ELECTRONICS_V)
        cooling_down = alive & ~limits
        flame = lit & (view.signal("furnace.proven") > 0.5)
        flame |= self.number("blower_by_timer") > 0.5
        delay = sum(self.number(n) for n in ("purge_s", "warm_up_s", "blower_on_s"))
        heated = call & flame & (view.around.since_call_s >= delay)
        heated |= alive & self._just_ended(view, self.number("blower_off_s"))
        wanted = fan | cooling_down | heated | (alive & (view.signal("burner.rogue") > 0.5))
        relay = wanted & (view.value(self.at("blower_relay_ok")) > 0.5)
        relay |= view.value(self.at("blower_relay_welded")) > 0.5
        view.set_closed(self.at("blower_relay"), relay)
        view.set_closed(self.at("blower_tell"), relay)
        view.write("furnace.blower_wanted", wanted)

    def _lamp(self, view: View, seen: "Inputs") -> None:
        lamp = np.where(seen.alive, LED_NORMAL, LED_OFF)
        proven = view.signal("furnace.proven") > 0.5
        asked = seen.call & seen.limits & ~seen.stuck
        gave_up = view.around.since_call_s >= self.number("purge_s") + self.number("warm_up_s")
        lamp = np.where(asked & seen.drawn & ~proven & gave_up, LED_IGNITION, lamp)
        lamp = np.where(asked & ~seen.drawn, LED_PRESSURE, lamp)
        locked = view.value(self.at("locked_out")) > 0.5
        lamp = np.where(seen.call & locked, LED_IGNITION, lamp)
        lamp = np.where(seen.call & seen.stuck, LED_STUCK, lamp)
        lamp = np.where(seen.alive & ~seen.limits, LED_LIMIT, lamp)
        lamp = np.where(seen.alive & (view.signal("burner.rogue") > 0.5), LED_FLAME, lamp)
        view.write(self.at("lamp"), lamp)


class Inputs(NamedTuple):
    """What the board sees: alive itself, a call, limits closed, draft proven, switch stuck."""

    alive: Mask
    call: Mask
    limits: Mask
    drawn: Mask
    stuck: Mask


INLET_PA = 1495.0
"""Natural gas before the valve, 6 in. w.c. (5 to 7, facts trade 7)."""

MANIFOLD_PA = 872.0
"""Natural gas behind the valve, 3.5 in. w.c. (facts trade 7)."""

THERMOCOUPLE_V = 0.028
"""A sound thermocouple in its pilot flame, open circuit (25 to 30 mV, common practice)."""


class PressureSwitch(Part):
    """Closes when the inducer draws enough through vent, trap and hose."""

    TERMINALS = ("a", "b")
    VALUES: ClassVar[Mapping[str, float]] = {
        "stuck_closed": 0.0,
        "hose_open": 1.0,
        "setting_share": 0.6,
    }

    def branches(self) -> Sequence[Branch]:
        """Return the normally open contact."""
        return (self.contact("contact", "a", "b"),)

    def act(self, view: View) -> None:
        """Close on enough draft: inducer turning, vent open, no water in the way."""
        turning = view.signal("inducer.state") == RUNNING
        draft = turning * view.value("vent.open_share") * view.value("inducer.wheel_share")
        draft = draft * (1.0 - view.value_or("furnace_drain.water_in_way", 0.0))
        felt = draft * view.value(self.at("hose_open"))
        made = (felt > view.value(self.at("setting_share"))) | (
            view.value(self.at("stuck_closed")) > 0.5
        )
        view.set_closed(self.at("contact"), made)
        view.write("draft.share", draft)


class Vent(Part):
    """Intake and vent pipe, as the share of the design draft they leave."""

    VALUES: ClassVar[Mapping[str, float]] = {"open_share": 1.0}


class FurnaceDrain(Part):
    """The condensing furnace's own trap and drain; water in the way spoils the draft."""

    VALUES: ClassVar[Mapping[str, float]] = {"water_in_way": 0.0, "leaks": 0.0}

    def act(self, view: View) -> None:
        """Publish whether the flue gas's water seeps out: past a leak, or backed up."""
        leaks = (view.signal("burner.stays") > 0.5) & (view.value(self.at("leaks")) > 0.5)
        backed_up = view.value(self.at("water_in_way")) > 0.5
        view.write(self.at("backed_up"), backed_up)
        view.write(self.at("spills"), leaks | backed_up)


class Inducer(PlainMotor):
    """The draft inducer: a small motor and its wheel, which animals and rust can spoil."""

    VALUES: ClassVar[Mapping[str, float]] = {**PlainMotor.VALUES, "wheel_share": 1.0}


class Ignitor(Part):
    """A hot-surface ignitor: glows when current flows."""

    TERMINALS = ("L1", "N")
    VALUES: ClassVar[Mapping[str, float]] = {"ohm": 50.0, "ignites": 1.0}

    def branches(self) -> Sequence[Branch]:
        """Return the element; cold resistance is what an ohmmeter sees."""
        hot = self.number("ohm") * 0.6
        element = resistive(hot)
        return (
            Branch(
                self.at("element"),
                self.at("L1"),
                self.at("N"),
                (type(element)(complex(hot), self.number("ohm")),),
            ),
        )

    def act(self, view: View) -> None:
        """Glow on enough current."""
        view.write(self.at("glows"), view.amps(self.at("element")) > 1.0)
        view.write(self.at("amps"), view.amps(self.at("element")))


class GasValve(Part):
    """The gas valve's solenoid; gas flows when it is pulled and there is gas behind it.

    ``house_share`` is what reaches the house, ``supply_share`` what of it reaches the valve, and
    ``regulator_share`` what the valve's regulator makes of it, each as flow over rated flow.
    Pressure goes with the square of the flow; rated 6 in. w.c. before the valve and 3.5 behind
    it (natural gas, facts trade 7).
    """

    TERMINALS = ("A1", "A2")
    VALUES: ClassVar[Mapping[str, float]] = {
        "coil_ohm": 110.0,
        "dc_ohm": 60.0,
        "opens": 1.0,
        "supply_share": 1.0,
        "house_share": 1.0,
        "regulator_share": 1.0,
    }

    def branches(self) -> Sequence[Branch]:
        """Return the solenoid."""
        coil = (inductive(self.number("coil_ohm"), 0.5, self.number("dc_ohm")),)
        return (Branch(self.at("coil"), self.at("A1"), self.at("A2"), coil),)

    def act(self, view: View) -> None:
        """Open when pulled in and sound."""
        pulled = (view.amps(self.at("coil")) > 0.03) & (
            view.volts(self.at("A1"), self.at("A2")) > ELECTRONICS_V
        )
        opens = pulled & (view.value(self.at("opens")) > 0.5)
        arriving = view.value(self.at("house_share")) * view.value(self.at("supply_share"))
        flow = opens * arriving * view.value(self.at("regulator_share"))
        view.write(self.at("flow"), flow)
        view.write(self.at("house_gas"), view.value(self.at("house_share")) > 0.4)
        view.write(self.at("inlet_pa"), INLET_PA * arriving**2)
        view.write(self.at("manifold_pa"), MANIFOLD_PA * flow**2)


class Burner(Part):
    """The burners: light where gas meets a glowing ignitor (or a standing pilot), and stay lit.

    A standing pilot burns while it is lit and its thermocouple holds the pilot gas open; without
    it the main valve stays shut.
    """

    VALUES: ClassVar[Mapping[str, float]] = {
        "clean_share": 1.0,
        "rated_watts": 20000.0,
        "efficiency": 0.8,
        "pilot": 0.0,
        "pilot_lit": 1.0,
        "thermocouple": 1.0,
    }

    def default_values(self) -> dict[str, float]:
        """All values, without those of the pilot where there is none."""
        found = super().default_values()
        if self.number("pilot") < 0.5:
            del found[self.at("pilot_lit")], found[self.at("thermocouple")]
        return found

    def act(self, view: View) -> None:
        """Light, stay, or drop out when flame is not proven; burn on behind a leaking valve."""
        gas = view.signal("gas_valve.flow") > 0.4
        lit = gas & self._source(view) & (view.value(self.at("clean_share")) > 0.3)
        supplied = view.signal("gas_valve.inlet_pa") > 0.2 * INLET_PA
        rogue = (view.value("gas_valve.opens") > 1.5) & supplied
        lit = lit | rogue
        proven = view.signal("furnace.proven") > 0.5
        view.write(self.at("lit"), lit)
        view.write(self.at("stays"), lit & proven)
        view.write(self.at("flame"), np.where(lit & proven, 2.0, np.where(lit, 1.0, 0.0)))
        view.write(self.at("rogue"), rogue)
        flow = np.where(rogue, 1.0, np.minimum(view.signal("gas_valve.flow"), 1.5))
        heat = self.number("rated_watts") * self.number("efficiency")
        view.write(self.at("watts"), heat * flow * ((lit & proven) | rogue))

    def _source(self, view: View) -> Mask:
        """Whether there is something hot for the gas to light on."""
        if self.number("pilot") < 0.5:
            sound = view.value_or("ignitor.ignites", 1.0) > 0.5
            return np.asarray((view.signal("ignitor.glows") > 0.5) & sound)
        good = view.value(self.at("thermocouple"))
        gas = view.signal("gas_valve.inlet_pa") > 0.2 * INLET_PA
        burns = (view.value(self.at("pilot_lit")) > 0.5) & (good > 0.5) & gas
        view.write(self.at("pilot_burns"), burns)
        view.write(self.at("thermocouple_volts"), THERMOCOUPLE_V * good * gas)
        return np.asarray(burns)


class FlameSensor(Part):
    """The flame rod: the rectified current it passes while lit [microampere dc]."""

    VALUES: ClassVar[Mapping[str, float]] = {"microamp": 3.0}

    def act(self, view: View) -> None:
        """Publish what a meter in series reads."""
        lit = view.signal("burner.lit") > 0.5
        view.write(self.at("reading"), view.value(self.at("microamp")) * lit)
