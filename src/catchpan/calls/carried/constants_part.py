"""Every threshold and share the reckoning uses, by name, so that the phone writes none twice."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

from catchpan.calls import advice, expected, guide, loading, summary
from catchpan.diagnosis.inference import (
    aftermath,
    belief,
    conflict,
    latent,
    outside,
    panel_reading,
    questioned,
    telling,
)
from catchpan.diagnosis.planning import (
    doubt,
    draft,
    ending,
    explanation,
    forecast,
    job,
    lookahead,
    need,
    planner,
    worthwhile,
)
from catchpan.diagnosis.worlds import (
    compile_family,
    family,
    panel,
    panel_likelihood,
    panel_quantity,
)

if TYPE_CHECKING:
    from types import ModuleType

MODULES: Final[tuple[ModuleType, ...]] = (
    family, compile_family, panel, panel_quantity, panel_likelihood, aftermath, belief, conflict,
    latent, outside, panel_reading, questioned, telling, doubt, draft, ending, explanation,
    forecast, job, lookahead, need, planner, worthwhile, advice, expected, guide, loading, summary,
)  # fmt: skip


def constants_part() -> dict[str, Any]:
    """Return the header of the constants, ``module.name`` to number, and of the budget."""
    found = {
        f"{module.__name__.rpartition('.')[2]}.{name.lower()}": value
        for module in MODULES
        for name, value in vars(module).items()
        if name.isupper() and not name.startswith("_") and _is_number(value)
    }
    return {"constants": dict(sorted(found.items())), "budget": asdict(guide.BUDGET)}


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
