"""What technicians call the parts of a system, and the conductors and screws of its wiring."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

PARTS: Final[Mapping[str, str]] = {
    "service": "house supply",
    "breaker_in": "indoor breaker",
    "breaker_out": "outdoor breaker",
    "indoor_switch": "switch at indoor unit",
    "door_switch": "blower door switch",
    "transformer": "transformer",
    "fuse_low": "control fuse",
    "board": "board",
    "blower": "blower",
    "blower_cap": "blower capacitor",
    "blower_relay": "blower relay",
    "float_primary": "drain float switch",
    "float_aux": "auxiliary pan switch",
    "float_pump": "pump safety switch",
    "stat": "thermostat",
    "hp_switch": "high-pressure switch",
    "contactor": "contactor",
    "capacitor": "run capacitor",
    "compressor": "compressor",
    "outdoor_fan": "outdoor fan",
    "disconnect": "disconnect",
    "fuse_d1": "disconnect fuse 1",
    "fuse_d2": "disconnect fuse 2",
    "pump": "condensate pump",
    "pump_outlet": "pump outlet breaker",
    "limit": "limit switch",
    "rollout": "rollout switch",
    "pressure_switch": "pressure switch",
    "gas_valve": "gas valve",
    "ignitor": "ignitor",
    "inducer": "inducer",
    "seq1": "sequencer 1",
    "seq2": "sequencer 2",
    "strip1": "heat strip 1",
    "strip2": "heat strip 2",
    "defrost": "defrost board",
    "reversing_valve": "reversing valve",
}

UNWIRED: Final[Mapping[str, str]] = {
    "air": "filter, coil and ducts",
    "burner": "burners",
    "cable": "control cable",
    "coil": "indoor coil",
    "cycle": "refrigerant circuit",
    "flame_sensor": "flame sensor",
    "furnace_drain": "drain of the furnace itself",
    "line_out": "line to outdoor unit",
    "marks": "traces of water",
    "orifice": "fixed orifice",
    "outdoor_coil": "outdoor coil",
    "pan": "pans and drain",
    "room": "the house",
    "stat_cell": "thermostat batteries",
    "txv": "expansion valve",
    "vent": "vent and intake pipes",
}
"""Parts without a place in the wiring, or that are more than one thing."""

BRANCHES: Final[Mapping[str, str]] = {
    "line_in.1": "line to indoor unit, leg 1",
    "line_in.2": "line to indoor unit, leg 2",
    "line_in.N": "neutral of indoor unit",
    "line_out.1": "line to outdoor unit, leg 1",
    "line_out.2": "line to outdoor unit, leg 2",
    "lead.secondary": "lead from transformer",
    "lead.L1": "whip, leg 1",
    "lead.L2": "whip, leg 2",
    "lead.comp_c": "lead to compressor C",
    "lead.comp_r": "lead to compressor R",
    "lead.comp_s": "lead to compressor S",
    "lead.fan_c": "lead to outdoor fan C",
    "lead.fan_r": "lead to outdoor fan R",
    "lead.fan_s": "lead to outdoor fan S",
    "lead.limits": "lead from limit and rollout",
    "lead.pressure": "lead from pressure switch",
    "lead.valve": "lead to reversing valve",
    "lead.coil": "lead to contactor coil",
    "lead.blower_input": "lead to blower's 24 V input",
    "bond.C": "bond of C to ground",
    "pump.cord": "pump cord",
    "stat.supply": "thermostat display and electronics",
    "transformer.primary": "transformer primary winding",
    "transformer.magnetising": "transformer core",
    "defrost.supply": "defrost board electronics",
    "board.supply": "board electronics",
    "board.limit_feed": "board feeds the limits",
    "board.limit_sense": "board reads the limits",
    "board.ps_feed": "board feeds the pressure switch",
    "board.ps_sense": "board reads the pressure switch",
    "board.valve_relay": "board, gas valve relay",
    "board.blower_relay": "board, blower relay",
    "board.inducer_relay": "board, inducer relay",
    "board.ignitor_relay": "board, ignitor relay",
    "board.blower_tell": "board tells the blower",
    "board.g_input": "board input G",
    "board.w_input": "board input W",
    "strip1.link": "heat strip 1 fusible link",
    "strip2.link": "heat strip 2 fusible link",
    "strip1.wire": "heat strip 1 element",
    "strip2.wire": "heat strip 2 element",
    "defrost.fan_relay": "defrost board, fan relay",
    "defrost.y_relay": "defrost board, Y",
    "defrost.w_relay": "defrost board, W in defrost",
    "defrost.o_relay": "defrost board, O",
    "defrost.o_defrost": "defrost board, O in defrost",
    "pump.float": "condensate pump float",
    "capacitor.herm": "run capacitor, HERM to C",
    "capacitor.fan": "run capacitor, FAN to C",
    "blower_cap.herm": "blower capacitor",
}

KINDS: Final[Mapping[str, str]] = {
    "contact": "",
    "contact2": "leg 2",
    "link": "",
    "pole1": "pole 1",
    "pole2": "pole 2",
    "coil": "coil",
    "main": "contact",
    "no": "contact (normally open)",
    "nc": "contact (normally closed)",
    "overload": "overload",
    "run": "run winding",
    "start": "start winding",
    "element": "",
    "sense": "24 V input",
}

SCREWS: Final[Mapping[str, str]] = {
    "transformer.s1": "transformer, 24 V side",
    "transformer.s2": "transformer, C side",
    "stat.R": "R at thermostat",
    "stat.C": "C at thermostat",
    "contactor.A1": "contactor coil",
    "contactor.L1": "contactor L1",
    "contactor.L2": "contactor L2",
    "contactor.T1": "contactor T1",
    "contactor.T2": "contactor T2",
    "outdoor.Y": "Y at outdoor unit",
    "outdoor.C": "C at outdoor unit",
    "outdoor.O": "O at outdoor unit",
    "outdoor.R": "R at outdoor unit",
    "ctl.R": "R at indoor unit",
    "ctl.Y": "Y at indoor unit",
    "ctl.G": "G at indoor unit",
    "ctl.W": "W at indoor unit",
    "ctl.O": "O at indoor unit",
    "board.L1": "L1 at board",
    "ah.L1": "L1 at air handler",
    "ah.L2": "L2 at air handler",
    "whip.1": "disconnect load side 1",
    "whip.2": "disconnect load side 2",
    "service.L1": "L1 at panel",
    "service.L2": "L2 at panel",
}
"""Points a probe is put on, the most telling name first."""


def branch_words(branch: str) -> str:
    """Return what a technician calls a branch of the network.

    Examples
    --------
    >>> branch_words("contactor.coil")
    'contactor coil'
    >>> branch_words("cable.Y")
    'thermostat cable, Y'
    """
    if branch in BRANCHES:
        return BRANCHES[branch]
    part, _, kind = branch.partition(".")
    if part == "cable":
        return f"thermostat cable, {kind}"
    if part == "out":
        return f"outdoor cable, {kind}"
    if part == "lead":
        return f"lead to {PARTS.get(kind, kind.replace('_', ' '))}"
    if part == "stat":
        return f"thermostat R to {kind}"
    name = PARTS.get(part, part.replace("_", " "))
    return f"{name} {KINDS.get(kind, kind.replace('_', ' '))}".strip()


def point_words(terminals: Iterable[str]) -> str:
    """Return what a technician calls a point where these terminals meet; empty if it has no name.

    Examples
    --------
    >>> point_words(["cable.R2", "stat.R"])
    'R at thermostat'
    """
    here = set(terminals)
    return next((words for screw, words in SCREWS.items() if screw in here), "")
