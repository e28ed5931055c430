"""The file of a compiled call: a JSON header and plain little-endian arrays behind it.

Written so that a browser can lay typed arrays over it without copying: every array starts at a
multiple of eight bytes.
"""

from __future__ import annotations

import json
import struct
import zlib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar, Final

import numpy as np

from catchpan.units.errors import EXIT_BROKEN_DATA, CatchpanError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

MAGIC: Final = b"CATCHPAN"
FORM: Final = 5
"""Number of this arrangement; another number is not read."""

ALIGNED_TO: Final = 8
TYPES: Final = {"u8": "<u1", "u16": "<u2", "u32": "<u4", "f32": "<f4", "f64": "<f8"}
START: Final = struct.Struct("<8sII")


class BrokenCarriedCall(CatchpanError):  # noqa: N818 - reads as a claim where it is raised
    """The bytes are not a compiled call of this form, or not all of one."""

    exit_code: ClassVar[int] = EXIT_BROKEN_DATA

    def __init__(self, problem: str) -> None:
        super().__init__(problem, hint="fetch the compiled call again", where="compiled call")


@dataclass
class Parts:
    """What a file is made of.

    Parameters
    ----------
    header : dict
        JSON values by part.
    arrays : dict
        Arrays by name, of the types in ``TYPES``.
    """

    header: dict[str, Any] = field(default_factory=dict)
    arrays: dict[str, NDArray[Any]] = field(default_factory=dict)

    def add(self, header: Mapping[str, Any], arrays: Mapping[str, NDArray[Any]]) -> None:
        """Add one part; a name that is there already is a mistake of the caller."""
        twice = (header.keys() & self.header.keys()) | (arrays.keys() & self.arrays.keys())
        if twice:
            raise ValueError(f"two parts are called {', '.join(sorted(twice))}")
        self.header |= header
        self.arrays |= arrays


def write_parts(parts: Parts) -> bytes:
    """Return the file of some parts."""
    listed: dict[str, dict[str, Any]] = {}
    data = bytearray()
    for name, array in parts.arrays.items():
        kind = _type_of(name, array)
        listed[name] = {"type": kind, "shape": list(array.shape), "at": len(data)}
        data += np.ascontiguousarray(array, dtype=TYPES[kind]).tobytes()
        data += bytes(-len(data) % ALIGNED_TO)
    whole = {
        "form": FORM,
        **parts.header,
        "bytes": len(data),
        "crc32": zlib.crc32(data),
        "arrays": listed,
    }
    text = json.dumps(whole, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode()
    start = START.pack(MAGIC, FORM, len(text)) + text
    return start + bytes(-len(start) % ALIGNED_TO) + bytes(data)


def read_parts(content: bytes) -> Parts:
    """Return the parts of a file.

    Raises
    ------
    BrokenCarriedCall
        For anything that is not a whole and undamaged file of this form.
    """
    if len(content) < START.size:
        raise BrokenCarriedCall(f"{len(content)} bytes are too few")
    magic, form, length = START.unpack_from(content)
    if magic != MAGIC:
        raise BrokenCarriedCall(f"it starts with {magic!r}")
    if form != FORM:
        raise BrokenCarriedCall(f"it has form {form}, this version knows {FORM}")
    data_at = START.size + length + (-(START.size + length) % ALIGNED_TO)
    try:
        header = json.loads(content[START.size : START.size + length])
    except ValueError as error:
        raise BrokenCarriedCall("its header is no JSON") from error
    data = content[data_at:]
    if len(data) != header.get("bytes"):
        raise BrokenCarriedCall(f"it holds {len(data)} bytes of data, not {header.get('bytes')}")
    if zlib.crc32(data) != header.get("crc32"):
        raise BrokenCarriedCall("its data is damaged")
    listed = header.pop("arrays")
    return Parts(header, {name: _array(data, entry) for name, entry in listed.items()})


def _type_of(name: str, array: NDArray[Any]) -> str:
    for kind, code in TYPES.items():
        if array.dtype == np.dtype(code):
            return kind
    raise ValueError(f"array {name!r} is {array.dtype}, wanted one of {', '.join(TYPES)}")


def _array(data: bytes, entry: Mapping[str, Any]) -> NDArray[Any]:
    shape = tuple(entry["shape"])
    count = int(np.prod(shape, dtype=np.int64))
    return np.frombuffer(data, TYPES[entry["type"]], count, entry["at"]).reshape(shape)
