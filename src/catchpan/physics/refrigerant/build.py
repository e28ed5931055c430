"""Tables of one refrigerant, made from CoolProp; takes a second or two."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from catchpan.physics.refrigerant.fluid import LOWEST_SATURATION_K, Refrigerant
from catchpan.physics.refrigerant.grid import Line, Sheet
from catchpan.physics.refrigerant.source import PropertySource
from catchpan.physics.refrigerant.table import (
    RefrigerantTable,
    place_of_pressure,
    pressure_at_place_pa,
)
from catchpan.units.span import FloatArray

LINE_NODES: Final = 3001
SHEET_PRESSURES: Final = 301
VAPOUR_NODES: Final = 201
LIQUID_NODES: Final = 61
HIGHEST_SUPERHEAT_K: Final = 130.0
HIGHEST_SUBCOOLING_K: Final = 60.0


@dataclass(frozen=True)
class _Span:
    """Evenly spaced nodes."""

    start: float
    stop: float
    nodes: int

    @property
    def at(self) -> FloatArray:
        return np.asarray(np.linspace(self.start, self.stop, self.nodes), dtype=np.float64)

    @property
    def step(self) -> float:
        return (self.stop - self.start) / (self.nodes - 1)


def build_table(fluid: Refrigerant) -> RefrigerantTable:
    """Return the tables of a refrigerant, computed anew.

    Parameters
    ----------
    fluid : Refrigerant
        Which one.

    Returns
    -------
    RefrigerantTable
        Ready for use.

    Raises
    ------
    PropertyGapError
        If CoolProp does not know the fluid well enough.

    Source: CoolProp, Helmholtz equations of state ("HEOS").
    """
    source = PropertySource(fluid)
    span = _place_span(source, fluid)
    lines = _saturation_line(source, span)
    place = _Span(span.start, span.stop, SHEET_PRESSURES)
    critical = source.critical_pressure_pa()
    hot, cold = HIGHEST_SUPERHEAT_K**0.5, HIGHEST_SUBCOOLING_K**0.5
    vapour = _sheet(source, lines, place, _Span(0.0, hot, VAPOUR_NODES), 1.0)
    liquid = _sheet(source, lines, place, _Span(0.0, cold, LIQUID_NODES), -1.0)
    return RefrigerantTable(
        fluid=fluid,
        critical_pressure_pa=critical,
        critical_temperature_k=source.critical_temperature_k(),
        lines=lines,
        log_pressures=_pressure_line(source, lines),
        vapour=vapour,
        liquid=liquid,
        vapour_from_enthalpy=_turned(vapour, 0, lambda row, w: (w**2, row[:, 1], row[:, 2])),
        vapour_from_entropy=_turned(vapour, 2, lambda row, _: (row[:, 0],)),
        liquid_from_enthalpy=_turned(liquid, 0, lambda row, w: (w**2, row[:, 1])),
    )


def _place_span(source: PropertySource, fluid: Refrigerant) -> _Span:
    """Find the pressures whose bubble temperatures are the ends of the tables."""
    critical = source.critical_pressure_pa()
    grid = np.geomspace(5e3, 0.985 * critical, 400)
    bubble = source.saturation_temperature_k(grid, 0.0)
    ends = np.interp([LOWEST_SATURATION_K, fluid.highest_saturation_k], bubble, np.log(grid))
    low, high = place_of_pressure(np.exp(ends), critical)
    return _Span(float(low), float(high), LINE_NODES)


def _saturation_line(source: PropertySource, place: _Span) -> Line:
    pressure = pressure_at_place_pa(place.at, source.critical_pressure_pa())
    bubble = source.saturation_temperature_k(pressure, 0.0)
    dew = source.saturation_temperature_k(pressure, 1.0)
    liquid = source.single_phase(pressure, bubble, liquid=True)
    vapour = source.single_phase(pressure, dew, liquid=False)
    columns = (bubble, dew, liquid[:, 0], vapour[:, 0], liquid[:, 1], vapour[:, 1], vapour[:, 2])
    latent = vapour[:, 2] - liquid[:, 2]
    return Line(place.start, place.step, np.column_stack([*columns, latent]))


def _pressure_line(source: PropertySource, lines: Line) -> Line:
    """Tabulate the logarithms of bubble and dew pressure against temperature."""
    log_p = np.log(pressure_at_place_pa(lines.nodes, source.critical_pressure_pa()))
    bubble, dew = lines.values[:, 0], lines.values[:, 1]
    span = _Span(float(dew[0]), float(bubble[-1]), LINE_NODES)
    values = [np.interp(span.at, line, log_p) for line in (bubble, dew)]
    return Line(span.start, span.step, np.column_stack(values))


def _sheet(source: PropertySource, lines: Line, place: _Span, root: _Span, sign: float) -> Sheet:
    """Tabulate a single phase from its saturation line outwards."""
    rows = [_row(source, lines, at, root, sign) for at in place.at]
    return Sheet(place.start, place.step, root.start, root.step, np.stack(rows))


def _row(source: PropertySource, lines: Line, place: float, root: _Span, sign: float) -> FloatArray:
    bubble, dew, *_ = lines.at(np.asarray(place))
    edge = dew if sign > 0.0 else bubble
    at_pa = float(pressure_at_place_pa(np.asarray(place), source.critical_pressure_pa()))
    pressure = np.full(root.nodes, at_pa)
    state = source.single_phase(pressure, edge + sign * root.at**2, liquid=sign < 0.0)
    enthalpy, density, entropy = _carried_on(root.at**2, state).T
    return np.column_stack(
        [
            sign * (enthalpy - enthalpy[0]),
            density[0] / density,
            sign * (entropy - entropy[0]),
        ]
    )


def _carried_on(degrees: FloatArray, state: FloatArray) -> FloatArray:
    """Replace states below the fluid's coldest by the straight line through the last good two."""
    good = np.isfinite(state).all(axis=1)
    if good.all():
        return state
    last = int(np.argmin(good)) - 1
    slope = (state[last] - state[last - 1]) / (degrees[last] - degrees[last - 1])
    carried = state[last] + slope * (degrees - degrees[last])[:, None]
    return np.where((np.arange(good.size) <= last)[:, None], state, carried)


def _turned(
    sheet: Sheet,
    column: int,
    wanted: Callable[[FloatArray, FloatArray], tuple[FloatArray, ...]],
) -> Sheet:
    """Tabulate against the root of one of a sheet's quantities instead of the degrees."""
    roots = sheet.y_nodes
    top = float(np.sqrt(sheet.values[:, -1, column].max()))
    span = _Span(0.0, top, 2 * roots.size)
    rows = [_turned_row(row, column, wanted(row, roots), span.at) for row in sheet.values]
    return Sheet(sheet.x_start, sheet.x_step, span.start, span.step, np.stack(rows))


def _turned_row(
    row: FloatArray, column: int, wanted: tuple[FloatArray, ...], at: FloatArray
) -> FloatArray:
    known = np.sqrt(np.maximum(row[:, column], 0.0))
    return np.column_stack([_extended(at, known, value) for value in wanted])


def _extended(at: FloatArray, known: FloatArray, value: FloatArray) -> FloatArray:
    """Interpolate; beyond the last node go on along the last stretch."""
    inside = np.interp(at, known, value)
    slope = (value[-1] - value[-2]) / (known[-1] - known[-2])
    return np.where(at > known[-1], value[-1] + slope * (at - known[-1]), inside)
