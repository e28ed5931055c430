"""Tables kept: in memory for the program, in a cache folder for the next time.

A file of another CoolProp version, of another layout, or that cannot be read counts as missing and
is made anew; nothing in a file is executed when it is read.
"""

import os
import sys
import tempfile
import zipfile
import zlib
from functools import cache
from pathlib import Path
from typing import Final

import numpy as np

from catchpan.physics.refrigerant.build import build_table
from catchpan.physics.refrigerant.fluid import Refrigerant, refrigerant_named
from catchpan.physics.refrigerant.grid import Line, Sheet
from catchpan.physics.refrigerant.source import coolprop_version
from catchpan.physics.refrigerant.table import RefrigerantTable
from catchpan.units.span import FloatArray

LAYOUT: Final = 2
"""Raised whenever the tables' nodes or columns change."""

_LINES: Final = ("lines", "log_pressures")
_SHEETS: Final = (
    "vapour",
    "liquid",
    "vapour_from_enthalpy",
    "vapour_from_entropy",
    "liquid_from_enthalpy",
)
_UNREADABLE: Final = (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error)


def default_cache_folder() -> Path:
    """Return the folder in which a person's programs may keep what they can make again."""
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "catchpan" / "refrigerants"


def refrigerant_table(name: str, folder: Path | None = None) -> RefrigerantTable:
    """Return the tables of a refrigerant, from memory, from the cache folder, or made now.

    Parameters
    ----------
    name : str
        The refrigerant, as on a nameplate.
    folder : Path, optional
        Where to keep the tables; `default_cache_folder` if not given. A folder that cannot be
        written keeps nothing.

    Returns
    -------
    RefrigerantTable
        The same object each time for the same folder.

    Raises
    ------
    UnknownName
        If there is no table for such a refrigerant.
    PropertyGapError
        If the installed CoolProp does not know the fluid well enough.

    Examples
    --------
    >>> table = refrigerant_table("R-410A")
    >>> round(float(table.dew_pressure_pa(np.array(283.15))) / 1e3)
    1085
    """
    return _kept(refrigerant_named(name), folder or default_cache_folder())


@cache
def _kept(fluid: Refrigerant, folder: Path) -> RefrigerantTable:
    path = folder / f"{fluid.name}-{LAYOUT}-coolprop-{coolprop_version()}.npz"
    table = _read(path, fluid)
    if table is None:
        table = build_table(fluid)
        _write(path, table)
    return table


def _read(path: Path, fluid: Refrigerant) -> RefrigerantTable | None:
    try:
        with path.open("rb") as raw, np.load(raw, allow_pickle=False) as file:
            arrays = {name: np.asarray(file[name], dtype=np.float64) for name in file.files}
        if not all(np.isfinite(values).all() for values in arrays.values()):
            return None
        return _unpacked(arrays, fluid)
    except _UNREADABLE:
        return None


def _write(path: Path, table: RefrigerantTable) -> None:
    """Keep the tables whole or not at all."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    except OSError:
        return
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            np.savez(file, allow_pickle=False, **_packed(table))
        part.replace(path)
    except OSError:
        part.unlink(missing_ok=True)


def _packed(table: RefrigerantTable) -> dict[str, FloatArray]:
    arrays = {
        "critical": np.array([table.critical_pressure_pa, table.critical_temperature_k]),
    }
    for name in _LINES:
        line: Line = getattr(table, name)
        arrays |= {name: line.values, f"{name}_nodes": np.array([line.start, line.step])}
    for name in _SHEETS:
        sheet: Sheet = getattr(table, name)
        nodes = [sheet.x_start, sheet.x_step, sheet.y_start, sheet.y_step]
        arrays |= {name: sheet.values, f"{name}_nodes": np.array(nodes)}
    return arrays


def _unpacked(arrays: dict[str, FloatArray], fluid: Refrigerant) -> RefrigerantTable:
    def line(name: str) -> Line:
        start, step = arrays[f"{name}_nodes"].tolist()
        return Line(start, step, arrays[name])

    def sheet(name: str) -> Sheet:
        x_start, x_step, y_start, y_step = arrays[f"{name}_nodes"].tolist()
        return Sheet(x_start, x_step, y_start, y_step, arrays[name])

    pressure, temperature = arrays["critical"].tolist()
    lines, sheets = [line(name) for name in _LINES], [sheet(name) for name in _SHEETS]
    return RefrigerantTable(fluid, pressure, temperature, lines[0], lines[1], *sheets)
