"""The part of JSON Schema that our schemas use, as a check that names every mismatch."""

from collections.abc import Iterator, Mapping
from typing import Any

_TYPES: Mapping[str, type | tuple[type, ...]] = {
    "object": dict,
    "array": list,
    "string": str,
    "number": (int, float),
    "integer": int,
    "boolean": bool,
    "null": type(None),
}
_KNOWN = {
    "$schema", "$id", "$defs", "$ref", "title", "description", "type", "properties", "required",
    "additionalProperties", "items", "const", "enum", "minimum", "maximum", "anyOf",
}  # fmt: skip


def mismatches(schema: Mapping[str, Any], data: object) -> list[str]:
    """Return where the data do not follow the schema; empty when they do."""
    return list(_mismatches(schema, data, "$", schema))


def _mismatches(
    schema: Mapping[str, Any], data: object, at: str, whole: Mapping[str, Any]
) -> Iterator[str]:
    unknown = schema.keys() - _KNOWN
    assert not unknown, f"the schema uses {unknown}, which this check does not know"
    if "$ref" in schema:
        schema = whole["$defs"][schema["$ref"].removeprefix("#/$defs/")]
    if "anyOf" in schema:
        tried = [list(_mismatches(s, data, at, whole)) for s in schema["anyOf"]]
        if all(tried):
            yield f"{at}: none of {len(tried)} forms"
    yield from _plain(schema, data, at)
    if isinstance(data, dict):
        yield from _fields(schema, data, at, whole)
    if isinstance(data, list) and "items" in schema:
        for k, item in enumerate(data):
            yield from _mismatches(schema["items"], item, f"{at}[{k}]", whole)


def _plain(schema: Mapping[str, Any], data: object, at: str) -> Iterator[str]:
    wanted = schema.get("type")
    if wanted and (
        not isinstance(data, _TYPES[wanted]) or (isinstance(data, bool) and wanted != "boolean")
    ):
        yield f"{at}: {data!r} is no {wanted}"
    elif "const" in schema and data != schema["const"]:
        yield f"{at}: {data!r} is not {schema['const']!r}"
    elif "enum" in schema and data not in schema["enum"]:
        yield f"{at}: {data!r} is none of {schema['enum']}"
    elif isinstance(data, int | float) and not (
        schema.get("minimum", data) <= data <= schema.get("maximum", data)
    ):
        yield f"{at}: {data!r} is out of span"


def _fields(
    schema: Mapping[str, Any], data: dict[str, object], at: str, whole: Mapping[str, Any]
) -> Iterator[str]:
    known = schema.get("properties", {})
    yield from (f"{at}.{name}: missing" for name in schema.get("required", []) if name not in data)
    for name, value in data.items():
        if name in known:
            yield from _mismatches(known[name], value, f"{at}.{name}", whole)
        elif schema.get("additionalProperties") is False:
            yield f"{at}.{name}: not in the schema"
