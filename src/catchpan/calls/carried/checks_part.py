"""The part of a compiled call that holds its checks: what each answer is worth in every world.

Most worlds share a row of a table, and many checks share which worlds do. So a table is kept as its
distinct rows, exact, and a partition: the number of its row for every world. Equal partitions are
kept once. What an instrument shows is kept the same way, rounded, because it is only ever shown.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from catchpan.diagnosis.worlds.family import CheckModel, Family, NumericReading

DIGITS: Final = 4
"""Significant digits kept of a number that is shown."""

SMALL: Final = 256
"""Partitions with at most so many classes are kept in bytes."""


class _Partitions:
    """Collects partitions of the worlds, equal ones once."""

    def __init__(self) -> None:
        self.rows: dict[str, list[NDArray[Any]]] = {"u8": [], "u16": []}
        self._known: dict[bytes, dict[str, Any]] = {}

    def add(self, table: NDArray[Any]) -> tuple[NDArray[Any], dict[str, Any]]:
        """Return the distinct rows of a table in the order they come, and where the rest is."""
        _, first, found = np.unique(table, axis=0, return_index=True, return_inverse=True)
        order = np.argsort(first, kind="stable")
        number = np.empty_like(order)
        number[order] = np.arange(len(order))
        classes = number[found.reshape(-1)]
        kind = "u8" if len(first) <= SMALL else "u16"
        kept = classes.astype(np.uint8 if kind == "u8" else np.uint16)
        key = kind.encode() + kept.tobytes()
        if key not in self._known:
            self._known[key] = {"type": kind, "row": len(self.rows[kind])}
            self.rows[kind].append(kept)
        return table[first[order]], self._known[key]

    def arrays(self, count: int) -> dict[str, NDArray[Any]]:
        """Return all partitions, one array for each width."""
        return {
            f"partitions.{kind}": np.array(rows, dtype=code).reshape(len(rows), count)
            for (kind, rows), code in zip(self.rows.items(), (np.uint8, np.uint16), strict=True)
        }


def checks_part(family: Family) -> tuple[dict[str, Any], dict[str, NDArray[Any]]]:
    """Return header and arrays of the checks."""
    partitions = _Partitions()
    tables: list[NDArray[Any]] = []
    numbers: list[NDArray[Any]] = []
    header = []
    at = shown_at = 0
    for check in family.checks.values():
        rows, where = partitions.add(check.table)
        entry = {**_fields(check), "table": {"partition": where, "at": at, "rows": len(rows)}}
        tables.append(rows.astype(np.float32).reshape(-1))
        at += rows.size
        entry["numbers"] = None
        if check.numeric is not None:
            shown, where = partitions.add(_rounded(check.numeric))
            entry["numbers"] = {
                **_number_fields(check.numeric),
                "partition": where,
                "at": shown_at,
                "rows": len(shown),
            }
            numbers.append(shown)
            shown_at += len(shown)
        header.append(entry)
    together = np.concatenate([np.zeros((0, 3)), *numbers])
    return {"checks": header}, {
        **partitions.arrays(len(family.worlds)),
        "tables": np.concatenate([np.zeros(0, dtype=np.float32), *tables]),
        "means": together[:, 0].astype(np.float32),
        "spreads": together[:, 1].astype(np.float32),
        "dead": together[:, 2].astype(np.uint8),
    }


def _fields(check: CheckModel) -> dict[str, Any]:
    return {
        "id": check.id,
        "title": check.title,
        "place": check.place,
        "minutes": check.minutes,
        "outcomes": [asdict(outcome) for outcome in check.outcomes],
        "requires": sorted(check.requires),
        "hazard_cost": check.hazard_cost,
        "phone": check.phone,
        "group": check.group,
        "proof": check.proof,
        "keeps_outside": check.keeps_outside,
        "look": asdict(check.look) if check.look is not None else None,
    }


def _number_fields(numeric: NumericReading) -> dict[str, Any]:
    return {
        "unit": numeric.unit,
        "low": numeric.low_si,
        "high": numeric.high_si,
        "slip": numeric.slip,
    }


def _rounded(numeric: NumericReading) -> NDArray[np.float64]:
    """Shape (n_worlds, 3): mean, spread and whether nothing can be said; nothing is said as 0."""
    dead = numeric.dead.astype(np.float64)
    mean = np.where(numeric.dead, 0.0, significant(numeric.mean_si))
    spread = np.where(numeric.dead | ~np.isfinite(mean), 0.0, significant(numeric.sd_si))
    return np.stack([mean, spread, dead], axis=1)


def significant(values: NDArray[np.float64], digits: int = DIGITS) -> NDArray[np.float64]:
    """Round to so many significant digits; what is 0 or not finite stays as it is."""
    usable = np.isfinite(values) & (values != 0.0)
    safe = np.where(usable, values, 1.0)
    step = 10.0 ** (np.floor(np.log10(np.abs(safe))) - digits + 1)
    return np.where(usable, np.round(safe / step) * step, values)
