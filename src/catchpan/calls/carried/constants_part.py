"""Every threshold and share the reckoning uses, by name, so that the phone writes none twice."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from catchpan.calls import (
    advice,
    aftermath,
    expected,
    guide,
    idle,
    loading,
    summary,
    telling,
    unmended,
)
from catchpan.diagnosis.inference import belief, conflict, latent
from catchpan.diagnosis.planning import ending, explanation, forecast, need, planner
from catchpan.diagnosis.worlds import compile_family, family

if TYPE_CHECKING:
    from types import ModuleType

MODULES: Final[tuple[ModuleType, ...]] = (
    family, compile_family, belief, conflict, latent, ending, explanation, forecast, need,
    planner, advice, aftermath, expected, guide, idle, loading, summary, telling, unmended,
)  # fmt: skip


def constants_part() -> dict[str, Any]:
    """Return the header of the constants: ``module.name`` to number."""
    found = {
        f"{module.__name__.rpartition('.')[2]}.{name.lower()}": value
        for module in MODULES
        for name, value in vars(module).items()
        if name.isupper() and not name.startswith("_") and _is_number(value)
    }
    return {"constants": dict(sorted(found.items()))}


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
