"""Values that survive a trip through JSON unchanged, frozen so that nobody edits the past."""

import json
import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final, TypeAlias

from catchpan.units.errors import BadValue

Json: TypeAlias = "bool | int | float | str | Sequence[Json] | Mapping[str, Json] | None"

MAX_DEPTH: Final = 32
"""Lists and objects inside one another at most; nobody's reading is deeper."""

MAX_INTEGER: Final = 2**53 - 1
"""The largest integer that every JSON reader keeps exactly (RFC 8259, section 6)."""


def freeze(value: object, where: str = "body", depth: int = 0) -> Json:
    """Return an unchangeable copy of a JSON value.

    Parameters
    ----------
    value : object
        Numbers, text, booleans, None, lists or tuples, and mappings with text keys.
    where : str, optional
        What to call the value in an error.
    depth : int, optional
        How deep the value itself lies; 0 for the outermost.

    Returns
    -------
    Json
        The same value with tuples for lists and read-only mappings for objects.

    Raises
    ------
    BadValue
        For anything JSON cannot carry exactly: infinities and NaN, integers beyond 2^53 - 1,
        broken Unicode, other types, or more than 32 levels.
    """
    if depth > MAX_DEPTH:
        raise BadValue(where, "the value is nested too deeply", f"at most {MAX_DEPTH} levels")
    if isinstance(value, Mapping):
        items = {_text(key, where): _at(item, where, key, depth) for key, item in value.items()}
        return MappingProxyType(items)
    if isinstance(value, list | tuple):
        return tuple(_at(item, where, index, depth) for index, item in enumerate(value))
    return _scalar(value, where)


def thaw(value: Json) -> Json:
    """Return the value with plain dicts and lists, as ``json.dumps`` wants them."""
    if isinstance(value, Mapping):
        return {key: thaw(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [thaw(item) for item in value]
    return value


def canonical_text(value: Json) -> str:
    """Return the one-line ASCII JSON text of a value, keys in order."""
    return json.dumps(thaw(value), sort_keys=True, separators=(",", ":"), allow_nan=False)


def _at(item: object, where: str, key: object, depth: int) -> Json:
    return freeze(item, f"{where}.{key}", depth + 1)


def _scalar(value: object, where: str) -> Json:
    if isinstance(value, str):
        return _text(value, where)
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int) and abs(value) <= MAX_INTEGER:
        return int(value)
    if isinstance(value, float) and math.isfinite(value):
        return float(value)
    shown = type(value).__name__ if isinstance(value, int) else repr(value)[:60]
    raise BadValue(where, f"{shown} does not fit in JSON", "text, a finite number or true/false")


def _text(value: object, where: str) -> str:
    if not isinstance(value, str):
        raise BadValue(where, f"the key {value!r} is not text", "text keys")
    try:
        value.encode()
    except UnicodeEncodeError as error:
        problem = f"{value[:60]!a} holds half a character"
        raise BadValue(where, problem, "text in whole Unicode characters") from error
    return str(value)
