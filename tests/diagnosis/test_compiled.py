"""Families found again: in memory, on a shelf, and never a wrong one."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any, cast

import numpy as np
import pytest
from numpy.typing import NDArray

from catchpan.catalog.load import Catalog
from catchpan.diagnosis.worlds import compiled as kept
from catchpan.diagnosis.worlds.compile_family import Costs, Size
from catchpan.diagnosis.worlds.compiled import compiled, family_key, forget
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family
from catchpan.diagnosis.worlds.family_arrays import from_arrays, to_arrays
from tests.diagnosis.small_catalog import SMALL, small_catalog

SYSTEM = Description("air-conditioner-furnace", {"drain": "gravity"}, season="cooling")


class Drawer:
    """A shelf in memory that counts what is asked of it."""

    def __init__(self) -> None:
        self.kept: dict[str, Mapping[str, NDArray[Any]]] = {}
        self.asked = 0

    def get(self, key: str) -> Mapping[str, NDArray[Any]] | None:
        self.asked += 1
        return self.kept.get(key)

    def put(self, key: str, arrays: Mapping[str, NDArray[Any]]) -> None:
        self.kept[key] = arrays


@pytest.fixture
def data() -> Catalog:
    return small_catalog()


def equal(one: object, two: object) -> bool:
    """Compare two values field by field, arrays element by element."""
    if isinstance(one, np.ndarray):
        return isinstance(two, np.ndarray) and np.array_equal(one, two)
    if is_dataclass(one):
        names = [f.name for f in fields(one)]
        return type(one) is type(two) and all(
            equal(getattr(one, n), getattr(two, n)) for n in names
        )
    if isinstance(one, Mapping):
        if not isinstance(two, Mapping) or list(one) != list(two):
            return False
        return all(equal(value, two[key]) for key, value in one.items())
    return one == two


def same(one: Family, two: Family) -> bool:
    """Whether every field of two families is equal, whatever fields a family has."""
    return equal(one, two)


def test_a_family_taken_apart_and_put_together_is_the_same(data: Catalog) -> None:
    family = compiled(SYSTEM, data, size=SMALL)
    again = from_arrays(to_arrays(family))
    assert same(family, again)
    assert not same(family, replace(again, harmless=again.harmless | {"x"}))


def test_a_field_nobody_arranged_is_an_error_and_no_loss(data: Catalog) -> None:
    family = compiled(SYSTEM, data, size=SMALL)
    odd = replace(family, dollars_per_minute=cast("float", ["a list"]))
    with pytest.raises(TypeError, match="how to keep dollars_per_minute"):
        to_arrays(odd)


def test_the_second_time_it_comes_from_memory(data: Catalog) -> None:
    first = compiled(SYSTEM, data, size=SMALL)
    assert compiled(replace(SYSTEM), data, size=SMALL) is first


def test_after_a_new_start_it_comes_from_the_shelf(
    data: Catalog, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawer = Drawer()
    forget()
    first = compiled(SYSTEM, data, size=SMALL, shelf=drawer)
    forget()
    monkeypatch.setattr(kept, "compile_family", None)
    assert same(first, compiled(SYSTEM, data, size=SMALL, shelf=drawer))
    assert drawer.asked == 2


@pytest.mark.parametrize("spoil", ["text", "form", "table 0", "worlds"])
def test_what_is_spoilt_on_the_shelf_is_compiled_anew(data: Catalog, spoil: str) -> None:
    drawer = Drawer()
    forget()
    first = compiled(SYSTEM, data, size=SMALL, shelf=drawer)
    (key,) = drawer.kept
    arrays = dict(drawer.kept[key])
    text = bytes(arrays["text"]).decode()
    spoilt: dict[str, dict[str, NDArray[Any]]] = {
        "text": {"text": arrays["text"][:-5]},
        "form": {"text": np.frombuffer(text.replace('"form": ', '"form": 9').encode(), np.uint8)},
        "table 0": {"table 0": arrays["table 0"][:-1]},
        "worlds": {"log_prior": arrays["log_prior"][:-1]},
    }
    drawer.kept[key] = {**arrays, **spoilt[spoil]}
    forget()
    assert same(first, compiled(SYSTEM, data, size=SMALL, shelf=drawer))


def test_only_a_few_families_stay_in_memory(data: Catalog, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "MOST_IN_MEMORY", 1)
    first = compiled(SYSTEM, data, size=SMALL)
    compiled(replace(SYSTEM, age_years=20.0), data, size=SMALL)
    assert compiled(SYSTEM, data, size=SMALL) is not first


def test_everything_it_depends_on_is_in_the_key(
    data: Catalog, monkeypatch: pytest.MonkeyPatch
) -> None:
    fault = next(iter(data.faults.values()))
    other = replace(data, faults={**data.faults, fault.id: fault.model_copy(update={"title": "X"})})
    keys = [
        family_key(SYSTEM, data, Costs(), Size()),
        family_key(replace(SYSTEM, outdoor_c=30.0), data, Costs(), Size()),
        family_key(replace(SYSTEM, options={}), data, Costs(), Size()),
        family_key(SYSTEM, other, Costs(), Size()),
        family_key(SYSTEM, data, Costs(dollars_per_minute=3.0), Size()),
        family_key(SYSTEM, data, Costs(), SMALL),
    ]
    monkeypatch.setattr(kept, "program_hash", lambda: "another program")
    keys.append(family_key(SYSTEM, data, Costs(), Size()))
    assert len(set(keys)) == len(keys)


def test_options_given_in_another_order_are_the_same_system(data: Catalog) -> None:
    one = replace(SYSTEM, options={"drain": "gravity", "blower": "psc"})
    two = replace(SYSTEM, options={"blower": "psc", "drain": "gravity"})
    keys = [family_key(d, data, Costs(), Size()) for d in (one, two)]
    assert keys[0] == keys[1]
