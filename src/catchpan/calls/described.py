"""What a call says of its system, as the description its worlds are compiled from."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Final

from catchpan.catalog.system import (
    check_setting,
    options_of,
    prior_of_value,
    structural_options,
)
from catchpan.diagnosis.worlds.description import Description
from catchpan.units.errors import EXIT_BAD_INPUT, CatchpanError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catchpan.calls.body import Setting
    from catchpan.calls.state import CallState
    from catchpan.catalog.entry import CheckEntry
    from catchpan.catalog.load import Catalog

CLIMATES: Final = ("humid", "dry", "cold", "mixed")


class NoSystemYetError(CatchpanError):
    """The call does not say yet what kind of system it is about."""

    exit_code: ClassVar[int] = EXIT_BAD_INPUT

    def __init__(self, call_id: str) -> None:
        super().__init__(
            f"call {call_id!r} names no kind of system", hint="choose one, or the likeliest"
        )


def describe(state: CallState, data: Catalog) -> Description:
    """Return what the call says of its system.

    Options come from descriptions and from a technician's answers to questions about them; a
    caller's answer settles only what is neither wired nor piped (where the unit stands), because
    callers mistake the rest too often: it is weighed as a reading instead. A technician's reading
    of something that only one way of being built has (the drain's outlet: a drain by gravity)
    settles that option too.
    """
    if state.archetype is None:
        raise NoSystemYetError(state.call_id)
    site = state.opened.site
    season = site.get("season")
    climate = site.get("climate")
    return Description(
        archetype=state.archetype,
        options=known_options(state, data),
        season=season if season in {"cooling", "heating"} else None,  # type: ignore[arg-type]
        age_years=age_class(_number(site.get("age_years")), data),
        climate=climate if climate in CLIMATES else None,  # type: ignore[arg-type]
        outdoor_c=_number(site.get("outdoor_c")),
        indoor_c=_number(site.get("indoor_c")),
        indoor_rh=_number(site.get("indoor_rh")) or 0.5,
    )


def age_class(age_years: float | None, data: Catalog) -> float | None:
    """Return an age that stands for all ages the catalog's rates do not tell apart.

    So that the compiled worlds of one call serve the next one about equipment of like age.
    """
    if age_years is None:
        return None
    limits = {m.age_over_years for f in data.faults.values() for m in f.more_likely}
    passed = [limit for limit in limits if limit is not None and age_years > limit]
    return max(passed, default=0.0) + 0.5


def known_options(state: CallState, data: Catalog) -> dict[str, str]:
    """Return the options that are settled, each at its latest value."""
    if state.archetype is None:
        return {}
    options = options_of(state.archetype, data)
    values = {name: {v.id for v in option.values} for name, option in options.items()}
    wired = structural_options(state.archetype, data)
    found: dict[str, str] = {}
    for entry in state.readings:
        check = data.checks.get(entry.body.check_id)
        if check is not None and check.observe.quantity == "option":
            said, option = entry.body.answer or "", check.observe.of
            settles = entry.body.reported_by == "technician" or option not in wired
            if said in values.get(option, ()) and settles:
                found[option] = said
        elif check is not None and entry.body.reported_by == "technician":
            found |= settled_by(check) if entry.body.answer != "absent" else {}
    described = {k: str(v) for k, v in state.description.items()}
    return found | {k: v for k, v in described.items() if v in values.get(k, ())}


def settled_by(check: CheckEntry) -> dict[str, str]:
    """Return the options a look settles: what was looked at is there, unless it is absent."""
    return {name: only for name, (only, *others) in check.needs_option.items() if not others}


def _number(setting: Setting | None) -> float | None:
    known = isinstance(setting, int | float) and not isinstance(setting, bool)
    return float(setting) if known else None  # type: ignore[arg-type]


def usual_setting(system: str, given: Mapping[str, str], data: Catalog) -> dict[str, str]:
    """Return a value for every option: as given, else as it is usually found."""
    check_setting(system, given, data)
    found = dict(given)
    for name, option in options_of(system, data).items():
        if name not in found:
            found[name] = max(option.values, key=lambda v: prior_of_value(option, v, found)).id
    return found
