"""The units of the trade: what each measures, how it is spelt, and its size in SI.

The sizes come from pint; pint's own names are not read from people's input (there, ``cfm`` is a
centi-femto-metre).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Final

import pint

from catchpan.units.errors import UnknownName


class Dimension(StrEnum):
    """What a quantity measures; inside the program each has one SI unit."""

    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature difference"
    ABSOLUTE_PRESSURE = "absolute pressure"
    GAUGE_PRESSURE = "gauge pressure"
    PRESSURE_DIFFERENCE = "pressure difference"
    VOLTAGE = "voltage"
    CURRENT = "current"
    CAPACITANCE = "capacitance"
    RESISTANCE = "resistance"
    POWER = "power"
    APPARENT_POWER = "apparent power"
    VOLUME_FLOW = "volume flow"
    VOLUME = "volume"
    LENGTH = "length"
    AREA = "area"
    MASS = "mass"
    TIME = "time"
    SHARE = "share"
    HUMIDITY_RATIO = "humidity ratio"
    FREQUENCY = "frequency"
    NUMBER = "number"


SI_UNIT: Final[dict[Dimension, str]] = {
    Dimension.TEMPERATURE: "kelvin",
    Dimension.TEMPERATURE_DIFFERENCE: "kelvin",
    Dimension.ABSOLUTE_PRESSURE: "pascal",
    Dimension.GAUGE_PRESSURE: "pascal",
    Dimension.PRESSURE_DIFFERENCE: "pascal",
    Dimension.VOLTAGE: "volt",
    Dimension.CURRENT: "ampere",
    Dimension.CAPACITANCE: "farad",
    Dimension.RESISTANCE: "ohm",
    Dimension.POWER: "watt",
    Dimension.APPARENT_POWER: "watt",
    Dimension.VOLUME_FLOW: "meter**3/second",
    Dimension.VOLUME: "meter**3",
    Dimension.LENGTH: "meter",
    Dimension.AREA: "meter**2",
    Dimension.MASS: "kilogram",
    Dimension.TIME: "second",
    Dimension.SHARE: "dimensionless",
    Dimension.HUMIDITY_RATIO: "dimensionless",
    Dimension.FREQUENCY: "hertz",
    Dimension.NUMBER: "dimensionless",
}
"""The unit in which the program keeps each dimension, in pint's words."""


@dataclass(frozen=True)
class Unit:
    """One unit as people write it.

    Parameters
    ----------
    name : str
        How the program prints it.
    dimension : Dimension
        What it measures.
    size : str
        Its size in pint's words.
    spellings : tuple of str
        How people write it besides.
    zero : str
        For a temperature: the scale in pint's words, for its zero; else empty.
    """

    name: str
    dimension: Dimension
    size: str
    spellings: tuple[str, ...] = ()
    zero: str = ""

    def scale(self) -> float:
        """Return the size of one unit [SI unit of its dimension]."""
        return _scale(self.size, SI_UNIT[self.dimension])

    def zero_si(self) -> float:
        """Return the SI value of this scale's zero; 0 except for temperatures."""
        return _zero_kelvin(self.zero) if self.zero else 0.0


@cache
def _registry() -> pint.UnitRegistry[float]:
    return pint.UnitRegistry(cache_folder=None)


@cache
def _scale(size: str, si_unit: str) -> float:
    return float((1.0 * _registry()(size)).to(si_unit).magnitude)


@cache
def _zero_kelvin(scale: str) -> float:
    return float(_registry().Quantity(0.0, scale).to("kelvin").magnitude)


def _pressures() -> list[Unit]:
    inch = ("inwc", "in w.c.", "in wc", "inh2o", "in h2o", "iwc", '"wc')
    gauge, difference = Dimension.GAUGE_PRESSURE, Dimension.PRESSURE_DIFFERENCE
    absolute = Dimension.ABSOLUTE_PRESSURE
    plain = [("Pa", "pascal"), ("kPa", "kilopascal"), ("bar", "bar")]
    units = [
        Unit(name, kind, size) for kind in (absolute, gauge, difference) for name, size in plain
    ]
    return [
        *units,
        Unit("psia", absolute, "psi"),
        Unit("micron", absolute, "millimeter_Hg/1000", ("microns", "um hg")),
        Unit("psig", gauge, "psi", ("psi", "lb", "pounds")),
        Unit("in. w.c.", gauge, "inch_H2O", inch),
        Unit("in. w.c.", difference, "inch_H2O", inch),
        Unit("psi", difference, "psi"),
    ]


def _temperatures() -> list[Unit]:
    kind, difference = Dimension.TEMPERATURE, Dimension.TEMPERATURE_DIFFERENCE
    degrees_f, degrees_c = ("F", "degF", "deg F", "º F", "°F"), ("C", "degC", "deg C", "°C")
    delta_f = ("delta F", "delta degF", "Δ°F", "ΔF", *degrees_f)
    delta_c = ("delta C", "delta degC", "Δ°C", "ΔC", *degrees_c)
    return [
        Unit("°F", kind, "delta_degF", degrees_f, "degF"),
        Unit("°C", kind, "delta_degC", degrees_c, "degC"),
        Unit("K", kind, "kelvin", ("kelvin",)),
        Unit("delta °F", difference, "delta_degF", delta_f),
        Unit("delta °C", difference, "delta_degC", delta_c),
        Unit("K", difference, "kelvin", ("kelvin",)),
    ]


def _electrics() -> list[Unit]:
    kinds = Dimension
    return [
        Unit("V", kinds.VOLTAGE, "volt", ("volt", "volts", "Vac", "Vdc", "VAC", "VDC")),
        Unit("mV", kinds.VOLTAGE, "millivolt"),
        Unit("kV", kinds.VOLTAGE, "kilovolt"),
        Unit("A", kinds.CURRENT, "ampere", ("amp", "amps", "Aac")),
        Unit("mA", kinds.CURRENT, "milliampere"),
        Unit("µA", kinds.CURRENT, "microampere", ("uA", "μA", "microamp", "microamps")),
        Unit("µF", kinds.CAPACITANCE, "microfarad", ("uF", "μF", "mfd", "MFD", "microfarad")),
        Unit("nF", kinds.CAPACITANCE, "nanofarad"),
        Unit("ohm", kinds.RESISTANCE, "ohm", ("Ω", "Ω", "ohms")),
        Unit("kohm", kinds.RESISTANCE, "kiloohm", ("kΩ", "kΩ", "k", "kohms")),
        Unit("Mohm", kinds.RESISTANCE, "megaohm", ("MΩ", "MΩ", "M", "megohm", "megohms")),
        Unit("mohm", kinds.RESISTANCE, "milliohm", ("mΩ", "mΩ", "milliohm")),
        Unit("W", kinds.POWER, "watt", ("watt", "watts")),
        Unit("kW", kinds.POWER, "kilowatt"),
        Unit("Btu/h", kinds.POWER, "Btu_it/hour", ("btuh", "btu/hr", "btu per hour")),
        Unit("MBh", kinds.POWER, "1000*Btu_it/hour", ("kBtu/h", "mbtuh")),
        Unit("ton", kinds.POWER, "12000*Btu_it/hour", ("tons",)),
        Unit("VA", kinds.APPARENT_POWER, "watt", ("volt-ampere",)),
        Unit("kVA", kinds.APPARENT_POWER, "kilowatt"),
        Unit("Hz", kinds.FREQUENCY, "hertz", ("cps",)),
    ]


def _matters() -> list[Unit]:
    kinds = Dimension
    return [
        Unit("cfm", kinds.VOLUME_FLOW, "foot**3/minute", ("ft3/min", "ft³/min", "cubic feet")),
        Unit("gpm", kinds.VOLUME_FLOW, "gallon/minute", ("gal/min",)),
        Unit(
            "fl oz/min", kinds.VOLUME_FLOW, "US_fluid_ounce/minute", ("oz/min", "ounces a minute")
        ),
        Unit("gal/h", kinds.VOLUME_FLOW, "gallon/hour", ("gph", "gal/hr")),
        Unit("L/s", kinds.VOLUME_FLOW, "liter/second"),
        Unit("L/h", kinds.VOLUME_FLOW, "liter/hour", ("l/hr",)),
        Unit("m3/s", kinds.VOLUME_FLOW, "meter**3/second", ("m³/s",)),
        Unit("m3/h", kinds.VOLUME_FLOW, "meter**3/hour", ("m³/h",)),
        Unit("gal", kinds.VOLUME, "gallon", ("gallon", "gallons")),
        Unit("qt", kinds.VOLUME, "quart", ("quart", "quarts")),
        Unit("L", kinds.VOLUME, "liter", ("liter", "litre")),
        Unit("m3", kinds.VOLUME, "meter**3", ("m³",)),
        Unit("ft3", kinds.VOLUME, "foot**3", ("ft³", "cu ft")),
        Unit("in", kinds.LENGTH, "inch", ("inch", "inches", '"', "\N{DOUBLE PRIME}")),
        Unit("ft", kinds.LENGTH, "foot", ("foot", "feet", "'", "\N{PRIME}")),
        Unit("m", kinds.LENGTH, "meter", ("meter", "metre")),
        Unit("cm", kinds.LENGTH, "centimeter"),
        Unit("mm", kinds.LENGTH, "millimeter"),
        Unit("ft2", kinds.AREA, "foot**2", ("ft²", "sq ft", "sqft")),
        Unit("in2", kinds.AREA, "inch**2", ("in²", "sq in")),
        Unit("m2", kinds.AREA, "meter**2", ("m²",)),
        Unit("lb", kinds.MASS, "pound", ("lbs", "pounds")),
        Unit("oz", kinds.MASS, "ounce", ("ounce", "ounces")),
        Unit("kg", kinds.MASS, "kilogram"),
        Unit("g", kinds.MASS, "gram"),
        Unit("s", kinds.TIME, "second", ("sec", "second", "seconds")),
        Unit("min", kinds.TIME, "minute", ("minute", "minutes")),
        Unit("h", kinds.TIME, "hour", ("hr", "hrs", "hour", "hours")),
        Unit("day", kinds.TIME, "day", ("d", "days")),
        Unit("year", kinds.TIME, "year", ("yr", "years")),
        Unit("%", kinds.SHARE, "percent", ("percent", "pct", "% RH")),
        Unit("ppm", kinds.SHARE, "ppm"),
        Unit("1", kinds.SHARE, "dimensionless"),
        Unit("grains/lb", kinds.HUMIDITY_RATIO, "grain/pound", ("gr/lb", "grains", "grain/lb")),
        Unit("kg/kg", kinds.HUMIDITY_RATIO, "dimensionless", ("lb/lb",)),
        Unit("g/kg", kinds.HUMIDITY_RATIO, "gram/kilogram"),
        Unit("", kinds.NUMBER, "dimensionless"),
    ]


UNITS: Final = (*_pressures(), *_temperatures(), *_electrics(), *_matters())
"""All units, the usual one of each dimension not necessarily first."""


def units_of(dimension: Dimension) -> list[str]:
    """Return the names of the units that measure a dimension.

    Parameters
    ----------
    dimension : Dimension
        What is measured.

    Returns
    -------
    list of str
        Their names, as printed.
    """
    return [unit.name for unit in UNITS if unit.dimension is dimension]


def find_units(spelling: str) -> Sequence[Unit]:
    """Return every unit that may be meant by a spelling.

    Parameters
    ----------
    spelling : str
        As written: spaces, full stops and (where it is safe) capitals do not matter.

    Returns
    -------
    sequence of Unit
        At least one; several when it may measure different things ("F", "kPa").

    Raises
    ------
    UnknownName
        If no unit is written so.

    Examples
    --------
    >>> [unit.name for unit in find_units("IN. WC")]
    ['in. w.c.', 'in. w.c.']
    """
    exact, loose = _spellings()
    found = exact.get(_tight(spelling)) or loose.get(_tight(spelling).casefold())
    if not found:
        raise UnknownName("unit", spelling, dict.fromkeys(unit.name for unit in UNITS if unit.name))
    return found


@cache
def _spellings() -> tuple[dict[str, list[Unit]], dict[str, list[Unit]]]:
    """Units by exact spelling, and by spelling in small letters where that is unambiguous."""
    exact: dict[str, list[Unit]] = {}
    for unit in UNITS:
        for spelling in dict.fromkeys(_tight(each) for each in (unit.name, *unit.spellings)):
            exact.setdefault(spelling, []).append(unit)
    loose: dict[str, list[Unit]] = {}
    for spelling, units in exact.items():
        loose.setdefault(spelling.casefold(), []).extend(units)
    safe = {key: units for key, units in loose.items() if _one_per_dimension(units)}
    return exact, safe


def _one_per_dimension(units: Sequence[Unit]) -> bool:
    return len({unit.dimension for unit in units}) == len({id(unit) for unit in units})


def _tight(spelling: str) -> str:
    return "".join(char for char in spelling if not char.isspace() and char not in "._")
