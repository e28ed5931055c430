"""Small made-up families on which the whole arithmetic can be done by hand or by enumeration."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from catchpan.diagnosis.worlds.family import (
    OTHER,
    CheckModel,
    Family,
    Outcome,
    PlaceModel,
    RepairModel,
    World,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence


def build_family(
    priors: Mapping[str, float],
    checks: Sequence[CheckModel] = (),
    repairs: Sequence[RepairModel] = (),
    places: Sequence[PlaceModel] = (PlaceModel("bench", "the bench", 0.0),),
    kinds: Mapping[str, str] | None = None,
    *,
    call_back: float = 1e9,
    rate: float = 1.0,
) -> Family:
    """Build worlds from conditions ("a b", "" for no fault) and priors; kinds default to root.

    Costs are in dollars: rate 1, nothing to prove, nothing to switch.
    """
    known = kinds or {}
    worlds = []
    for text in priors:
        conditions = frozenset(text.split())
        roots = frozenset(c for c in conditions if known.get(c, "root") == "root")
        worlds.append(World(conditions, roots, 0))
    return Family(
        worlds=tuple(worlds),
        log_prior=np.log(np.array(list(priors.values()))),
        settings=({},),
        checks={c.id: c for c in checks},
        repairs={r.id: r for r in repairs},
        places={p.id: p for p in places},
        kinds=known,
        dollars_per_minute=rate,
        call_back_dollars=call_back,
        dispatch_minutes=10.0,
        power_minutes=0.0,
        call_minutes=0.0,
        proof_minutes=0.0,
        refer_minutes=0.0,
    )


def build_check(
    check_id: str,
    rows: Sequence[Sequence[float]],
    *,
    minutes: float = 1.0,
    place: str = "bench",
    requires: frozenset[str] = frozenset(),
    phone: bool = False,
    danger: tuple[int, ...] = (),
) -> CheckModel:
    """Build a check whose answers are o0, o1, ...; rows as in the priors of the family."""
    table = np.maximum(np.array(rows, dtype=np.float32), np.float32(1e-6))
    outcomes = tuple(
        Outcome(f"o{k}", f"answer {k}", danger=k in danger) for k in range(table.shape[1])
    )
    return CheckModel(
        check_id, f"Check {check_id}", place, minutes, outcomes, table,
        requires=requires, phone=phone,
    )  # fmt: skip


def build_repair(
    repair_id: str,
    fixes: str,
    dollars: float,
    *,
    place: str = "bench",
    requires: frozenset[str] = frozenset(),
    success: float = 1.0,
    refer: bool = False,
    caller_safe: bool = False,
) -> RepairModel:
    """Build a repair that costs dollars and no minutes."""
    return RepairModel(
        repair_id, f"Repair {repair_id}", place, 0.0, dollars, frozenset(fixes.split()), success,
        requires=requires, refer=refer, caller_safe=caller_safe,
    )  # fmt: skip


@pytest.fixture
def family_of() -> Callable[..., Family]:
    return build_family


@pytest.fixture
def check_of() -> Callable[..., CheckModel]:
    return build_check


@pytest.fixture
def repair_of() -> Callable[..., RepairModel]:
    return build_repair


@pytest.fixture
def three_faults() -> Family:
    """No fault, a, b, the pair, a left-behind c, a latent d, and the world outside the library."""
    priors = {"": 0.05, "a": 0.4, "b": 0.2, "a b": 0.05, "a c": 0.2, "c": 0.04, "b d": 0.03}
    priors |= {"d": 0.02, OTHER: 0.01}
    yes = [0.1, 0.9, 0.1, 0.9, 0.9, 0.1, 0.1, 0.1, 0.5]
    wet = [0.05, 0.05, 0.05, 0.05, 0.95, 0.95, 0.05, 0.05, 0.5]
    checks = (
        build_check("hum", [[p, 1 - p] for p in yes], minutes=2.0),
        build_check("wet", [[p, 1 - p] for p in wet], minutes=3.0),
    )
    repairs = (
        build_repair("fix-a", "a", 30.0),
        build_repair("fix-b", "b", 50.0),
        build_repair("dry-c", "c", 10.0),
    )
    kinds = {"a": "root", "b": "root", "c": "consequence", "d": "latent"}
    return build_family(priors, checks, repairs, kinds=kinds, call_back=300.0)
