r"""catchpan: guided fault finding for residential heating and cooling.

What is offered here is imported on first use, so that ``import catchpan`` costs nothing:

>>> import catchpan
>>> case = catchpan.read_case("schema: 1\nsystem: {archetype: heat-pump-air-handler}\n")
>>> len(case.history)
0
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from catchpan.catalog.load import catalog as load_catalog
    from catchpan.diagnosis.cases.case import Case, Tried, read_case
    from catchpan.diagnosis.cases.weigh import log_score, weigh
    from catchpan.diagnosis.cases.weighing import Weighing
    from catchpan.diagnosis.inference.belief import Belief, Reading
    from catchpan.diagnosis.planning.planner import next_steps
    from catchpan.diagnosis.planning.situation import Situation
    from catchpan.diagnosis.worlds.compile_family import compile_family
    from catchpan.diagnosis.worlds.description import Description

__all__ = [
    "Belief",
    "Case",
    "Description",
    "Reading",
    "Situation",
    "Tried",
    "Weighing",
    "compile_family",
    "load_catalog",
    "log_score",
    "next_steps",
    "read_case",
    "weigh",
]

_WHERE: Final = {
    "Belief": ("catchpan.diagnosis.inference.belief", "Belief"),
    "Case": ("catchpan.diagnosis.cases.case", "Case"),
    "Description": ("catchpan.diagnosis.worlds.description", "Description"),
    "Reading": ("catchpan.diagnosis.inference.belief", "Reading"),
    "Situation": ("catchpan.diagnosis.planning.situation", "Situation"),
    "Tried": ("catchpan.diagnosis.cases.case", "Tried"),
    "Weighing": ("catchpan.diagnosis.cases.weighing", "Weighing"),
    "compile_family": ("catchpan.diagnosis.worlds.compile_family", "compile_family"),
    "load_catalog": ("catchpan.catalog.load", "catalog"),
    "log_score": ("catchpan.diagnosis.cases.weigh", "log_score"),
    "next_steps": ("catchpan.diagnosis.planning.planner", "next_steps"),
    "read_case": ("catchpan.diagnosis.cases.case", "read_case"),
    "weigh": ("catchpan.diagnosis.cases.weigh", "weigh"),
}
"""Module and name of everything offered. The catalog is ``load_catalog``: ``catchpan.catalog`` is
the room that holds it."""


def __getattr__(name: str) -> Any:
    """Import what is asked for."""
    if name not in _WHERE:
        raise AttributeError(f"module 'catchpan' has no attribute {name!r}")
    module, inner = _WHERE[name]
    return getattr(import_module(module), inner)


def __dir__() -> list[str]:
    """Return what is offered beside the usual names."""
    return sorted({*globals(), *__all__})
