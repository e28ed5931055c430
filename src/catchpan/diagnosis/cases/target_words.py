"""Today's targets in words."""

from collections.abc import Iterator
from typing import Final

from catchpan.diagnosis.cases.todays_targets import Judged, Target, Todays

VERDICTS: Final = {
    "ok": "ok",
    "low": "too low",
    "high": "too high",
    "too-close": "too close to call",
    "": "",
}

BESIDE: Final = {
    "superheat": ("superheat", "suction_pressure", "suction_line"),
    "subcooling": ("subcooling", "liquid_pressure", "liquid_line"),
    "split": ("split", "supply_air"),
    "rise": ("split", "supply_air"),
    "suction-pressure": ("suction_pressure",),
    "liquid-pressure": ("liquid_pressure",),
    "capacity": ("supply_air", "supply_wet_bulb", "condensate", "compressor_amps"),
    "sensible-capacity": ("supply_air", "supply_wet_bulb"),
}
"""Quantities of the panel beside which each target is of use."""


def targets_heading(todays: Todays) -> str:
    """Return which unit and which weather the targets are for."""
    return (
        f"{todays.tons:g} tons, {todays.refrigerant}, {todays.metering}; "
        f"{todays.outdoor_f:.0f} °F outdoors, return {todays.indoor_f:.0f} °F, "
        f"wet bulb {todays.indoor_wet_bulb_f:.0f} °F"
    )


def targets_lines(todays: Todays, beside: str = "") -> Iterator[str]:
    """Write each quantity with its targets, all or those of use beside a quantity of the panel."""
    for one in todays.judged:
        if not beside or beside in BESIDE[one.quantity]:
            yield target_line(one)


def target_line(one: Judged) -> str:
    """Return a quantity in one line: what was read, then every source with its verdict."""
    unit = one.unit.removeprefix("delta ")
    form = ",.0f" if unit == "Btu/h" else ".0f"
    read = f", read {_reading(one, form)}" if one.reading is not None else ""
    sources = "; ".join(_source(t, form) for t in one.targets)
    return f"{one.title} [{unit}]{read}: {sources}"


def _reading(one: Judged, form: str) -> str:
    if one.unit != "Btu/h":
        return f"{one.reading:.1f}"
    return f"{one.reading:{form}} give or take {one.deviation:{form}}"


def _source(target: Target, form: str) -> str:
    if target.value is None:
        return f"{target.source}: {target.note}"
    verdict = f": {VERDICTS[target.verdict]}" if target.verdict else ""
    note = f" ({target.note})" if target.note else ""
    spread = f" give or take {target.deviation:{form}}" if target.deviation else ""
    return f"{target.source} {target.value:{form}}{spread}{verdict}{note}"
