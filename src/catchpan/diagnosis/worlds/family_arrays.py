"""A compiled family as plain arrays and back, so that it can be kept without compiling it again."""

import json
from collections.abc import Mapping
from dataclasses import asdict, fields, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from catchpan.diagnosis.worlds.family import (
    CheckModel,
    Family,
    NumericReading,
    Outcome,
    PlaceModel,
    RepairModel,
    World,
)
from catchpan.diagnosis.worlds.panel_arrays import panel_arrays, panel_from, panel_text
from catchpan.diagnosis.worlds.panel_quantity import PanelLook

Arrays = Mapping[str, NDArray[Any]]

FORM: Final = 5
"""Number of this arrangement of arrays; another number is not read."""

_SPECIAL: Final = frozenset(
    {
        "worlds",
        "log_prior",
        "settings",
        "checks",
        "repairs",
        "places",
        "kinds",
        "group_minutes",
        "group_after",
        "working",
        "lasting",
        "struggling",
        "harmless",
        "panels",
    }
)
"""Fields of a family that are arranged by hand; all others must be plain numbers."""

_OPTIONAL: Final = ("working", "lasting", "struggling")
"""Yes or no for every world, or not there at all."""


def to_arrays(family: Family) -> dict[str, NDArray[Any]]:
    """Return a family as named arrays; what is not an array is in ``text`` as JSON."""
    members, names = _sets([w.conditions for w in family.worlds])
    roots, root_names = _sets([w.roots for w in family.worlds])
    arrays: dict[str, NDArray[Any]] = {
        "log_prior": family.log_prior,
        "setting": np.array([w.setting for w in family.worlds], dtype=np.int32),
        "conditions": np.packbits(members, axis=1),
        "roots": np.packbits(roots, axis=1),
        "calm": np.packbits([w.calm for w in family.worlds]),
    }
    held = {name: getattr(family, name) for name in _OPTIONAL}
    arrays |= {name: np.packbits(bits) for name, bits in held.items() if bits is not None}
    for k, check in enumerate(family.checks.values()):
        arrays[f"table {k}"] = check.table
        if check.numeric is not None:
            arrays |= {f"mean {k}": check.numeric.mean_si, f"sd {k}": check.numeric.sd_si}
            arrays[f"dead {k}"] = np.packbits(check.numeric.dead)
    for demand, panel in family.panels.items():
        arrays |= panel_arrays(panel, f"panel {demand} ")
    text = json.dumps(_text_of(family, names, root_names))
    arrays["text"] = np.frombuffer(text.encode("utf-8"), dtype=np.uint8)
    return arrays


def from_arrays(arrays: Arrays) -> Family:
    """Return the family that ``to_arrays`` took apart.

    Raises
    ------
    KeyError, ValueError, TypeError, CatchpanError
        When the arrays are not those of a family.
    """
    text = json.loads(bytes(arrays["text"]).decode("utf-8"))
    if text["form"] != FORM:
        raise ValueError(f"arranged in form {text['form']}, not {FORM}")
    conditions = _read_sets(arrays["conditions"], text["conditions"])
    roots = _read_sets(arrays["roots"], text["roots"])
    count = len(conditions)
    calm = np.unpackbits(arrays["calm"], count=count).astype(np.bool_).tolist()
    worlds = zip(conditions, roots, arrays["setting"].tolist(), calm, strict=True)
    checks = [_check(arrays, k, entry, count) for k, entry in enumerate(text["checks"])]
    repairs = [_repair(entry) for entry in text["repairs"]]
    places = [PlaceModel(**entry) for entry in text["places"]]
    return Family(
        worlds=tuple(World(*world) for world in worlds),
        log_prior=np.asarray(arrays["log_prior"], dtype=np.float64),
        settings=tuple(text["settings"]),
        checks={c.id: c for c in checks},
        repairs={r.id: r for r in repairs},
        places={p.id: p for p in places},
        kinds=text["kinds"],
        group_minutes=text["group_minutes"],
        group_after=text["group_after"],
        working=_bits(arrays, "working", count),
        lasting=_bits(arrays, "lasting", count),
        struggling=_bits(arrays, "struggling", count),
        harmless=frozenset(text["harmless"]),
        panels={p["demand"]: panel_from(arrays, p) for p in text["panels"]},
        **text["plain"],
    )


def _bits(arrays: Arrays, name: str, count: int) -> NDArray[np.bool_] | None:
    if name not in arrays:
        return None
    return np.unpackbits(arrays[name], count=count).astype(np.bool_)


def _sets(sets: list[frozenset[str]]) -> tuple[NDArray[np.bool_], list[str]]:
    names = sorted(frozenset[str]().union(*sets))
    column = {name: j for j, name in enumerate(names)}
    matrix = np.zeros((len(sets), len(names)), dtype=np.bool_)
    for i, members in enumerate(sets):
        matrix[i, [column[m] for m in members]] = True
    return matrix, names


def _read_sets(packed: NDArray[Any], names: list[str]) -> list[frozenset[str]]:
    bits = np.unpackbits(packed, axis=1, count=len(names)).astype(np.bool_)
    return [frozenset(names[j] for j in np.flatnonzero(row)) for row in bits]


def _text_of(family: Family, names: list[str], root_names: list[str]) -> dict[str, Any]:
    return {
        "form": FORM,
        "conditions": names,
        "roots": root_names,
        "settings": [dict(s) for s in family.settings],
        "checks": [_check_text(c) for c in family.checks.values()],
        "repairs": [_repair_text(r) for r in family.repairs.values()],
        "places": [{**_fields_of(p), "covers": dict(p.covers)} for p in family.places.values()],
        "kinds": dict(family.kinds),
        "group_minutes": dict(family.group_minutes),
        "group_after": dict(family.group_after),
        "harmless": sorted(family.harmless),
        "panels": [panel_text(p) for p in family.panels.values()],
        "plain": _plain(family),
    }


def _plain(family: Family) -> dict[str, bool | int | float | str]:
    """Return the fields that are plain numbers; a field nobody arranged is an error, not a loss."""
    found = {f.name: getattr(family, f.name) for f in fields(family) if f.name not in _SPECIAL}
    odd = {
        name: value
        for name, value in found.items()
        if not isinstance(value, bool | int | float | str)
    }
    if odd:
        raise TypeError(f"nothing says how to keep {', '.join(odd)} of a family")
    return found


def _check_text(check: CheckModel) -> dict[str, Any]:
    kept = {k: v for k, v in _fields_of(check).items() if k not in {"table", "numeric"}}
    kept |= {"outcomes": [asdict(o) for o in check.outcomes], "requires": sorted(check.requires)}
    kept["look"] = asdict(check.look) if check.look is not None else None
    numeric, kept["numeric"] = check.numeric, None
    if numeric is not None:
        numbers = _fields_of(numeric)
        kept["numeric"] = {k: v for k, v in numbers.items() if k not in _NUMBERS}
    return kept


_NUMBERS: Final = frozenset({"mean_si", "sd_si", "dead"})


def _fields_of(record: CheckModel | RepairModel | PlaceModel | NumericReading) -> dict[str, Any]:
    return {f.name: getattr(record, f.name) for f in fields(record)}


def _check(arrays: Arrays, k: int, entry: dict[str, Any], count: int) -> CheckModel:
    numeric = entry["numeric"]
    if numeric is not None:
        dead = np.unpackbits(arrays[f"dead {k}"], count=count).astype(np.bool_)
        numeric = NumericReading(arrays[f"mean {k}"], arrays[f"sd {k}"], dead, **numeric)
    words = {
        "outcomes": tuple(Outcome(**o) for o in entry["outcomes"]),
        "requires": frozenset(entry["requires"]),
        "look": PanelLook(**entry["look"]) if entry["look"] is not None else None,
    }
    return CheckModel(**{**entry, **words, "table": arrays[f"table {k}"], "numeric": numeric})


def _repair_text(repair: RepairModel) -> dict[str, Any]:
    return {
        **_fields_of(repair),
        "fixes": sorted(repair.fixes),
        "requires": sorted(repair.requires),
        "proofs": list(repair.proofs),
    }


def _repair(entry: dict[str, Any]) -> RepairModel:
    plain = RepairModel(**entry)
    return replace(
        plain,
        fixes=frozenset(plain.fixes),
        requires=frozenset(plain.requires),
        proofs=tuple(plain.proofs),
    )
