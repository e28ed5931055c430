"""From an archetype with its options settled to the blueprint of a plant."""

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import TypeVar

from catchpan.catalog.entry import (
    ArchetypeEntry,
    EffectEntry,
    FaultEntry,
    OptionEntry,
    OptionValueEntry,
    PartEntry,
    WireEntry,
)
from catchpan.catalog.errors import ImpossibleOptions
from catchpan.catalog.load import Catalog, catalog
from catchpan.plant.blueprint import (
    Blueprint,
    BranchEffect,
    Effect,
    PartSpec,
    ShortEffect,
    ValueEffect,
    WireSpec,
)
from catchpan.plant.plant import Plant
from catchpan.units.errors import UnknownName

METRES_PER_FOOT = 0.3048

Item = TypeVar("Item", PartEntry, WireEntry)

Setting = Mapping[str, str]
"""A value for every option of an archetype."""


def archetype(name: str, data: Catalog) -> ArchetypeEntry:
    """Return an archetype by id; raises UnknownName."""
    if name not in data.archetypes:
        raise UnknownName("archetype", name, tuple(data.archetypes))
    return data.archetypes[name]


def options_of(name: str, data: Catalog) -> dict[str, OptionEntry]:
    """Return the options of an archetype, by id, in the order of its pieces."""
    entry = archetype(name, data)
    return {o.id: o for piece in entry.pieces for o in data.pieces[piece].option}


def structural_options(name: str, data: Catalog) -> tuple[str, ...]:
    """Return the options that change what is wired or piped, and so belong to the worlds."""
    entry = archetype(name, data)
    used: set[str] = set()
    for piece in entry.pieces:
        content = data.pieces[piece]
        clauses = [p.when for p in content.part] + [w.when for w in content.wire]
        used |= {option for clause in clauses for option in clause}
    return tuple(o for o in options_of(name, data) if o in used)


def check_setting(name: str, setting: Setting, data: Catalog) -> None:
    """Raise UnknownName or ImpossibleOptions for options that do not exist."""
    options = options_of(name, data)
    for option, value in setting.items():
        if option not in options:
            raise UnknownName(f"option of {name}", option, tuple(options))
        allowed = [v.id for v in options[option].values]
        if value not in allowed:
            raise ImpossibleOptions(
                f"option {option}", f"{value!r} is not one of its values", " or ".join(allowed)
            )


def prior_of_value(option: OptionEntry, value: OptionValueEntry, known: Setting) -> float:
    """Prior of one value of an option, given what is known of others, normalised."""
    total = sum(_weight(v, known) for v in option.values)
    return _weight(value, known) / total


def _weight(value: OptionValueEntry, known: Setting) -> float:
    for clause in value.given:
        wanted = {k: v for k, v in clause.items() if k != "prior"}
        if all(known.get(k) == v for k, v in wanted.items()):
            return float(clause["prior"])
    return value.prior


def blueprint(name: str, setting: Setting, data: Catalog) -> Blueprint:
    """Settle an archetype's options into parts and wires.

    Parameters
    ----------
    name : str
        Archetype id.
    setting : mapping of str to str
        A value for every structural option.
    data : Catalog
        Where the archetype comes from.
    """
    entry = archetype(name, data)
    check_setting(name, setting, data)
    chosen = _chosen_settings(name, setting, data)
    parts, wires = [], []
    for piece in entry.pieces:
        content = data.pieces[piece]
        parts += [_part(p, entry, chosen) for p in _present(content.part, setting)]
        wires += [_wire(w) for w in _present(content.wire, setting)]
    seen: set[str] = set()
    for part in parts:
        if part.id in seen:
            raise ImpossibleOptions(f"{name} · {part.id}", "this part is there twice", "one of it")
        seen.add(part.id)
    return Blueprint(name, tuple(parts), tuple(wires))


def _present(items: Sequence[Item], setting: Setting) -> Iterator[Item]:
    for item in items:
        if all(setting.get(k) in ([v] if isinstance(v, str) else v) for k, v in item.when.items()):
            yield item


Chosen = dict[str, dict[str, float | int | str]]
"""Settings by part, as the chosen options make them."""


def _chosen_settings(name: str, setting: Setting, data: Catalog) -> Chosen:
    chosen: Chosen = {}
    for option in options_of(name, data).values():
        for value in option.values:
            if setting.get(option.id) == value.id:
                for part, made in value.settings.items():
                    chosen.setdefault(part, {}).update(made)
    return chosen


def _part(entry: PartEntry, system: ArchetypeEntry, chosen: Chosen) -> PartSpec:
    settings: dict[str, float | str | bool] = {
        **entry.settings,
        **system.settings.get(entry.id, {}),
        **chosen.get(entry.id, {}),
    }
    return PartSpec(entry.id, entry.type, entry.place, settings)


def _wire(entry: WireEntry) -> WireSpec:
    return WireSpec(entry.a, entry.b, entry.id, entry.awg, entry.feet * METRES_PER_FOOT)


def effect(entry: EffectEntry) -> Effect:
    """Return the plant's effect for an entry of a fault."""
    if entry.short is not None:
        return ShortEffect(entry.short[0], entry.short[1], entry.ohm)
    if entry.value:
        for do, amount in (("to", entry.to), ("times", entry.times), ("add", entry.add)):
            if amount is not None:
                return ValueEffect(entry.value, do, amount)  # type: ignore[arg-type]
    return BranchEffect(entry.branch, entry.do, entry.amount)  # type: ignore[arg-type]


def faults_of(name: str, setting: Setting, data: Catalog) -> dict[str, FaultEntry]:
    """Return the faults whose archetypes and options fit; the plant drops those it cannot show."""
    return {
        fault.id: fault
        for fault in data.faults.values()
        if (not fault.archetypes or name in fault.archetypes)
        and all(setting.get(k, "") in v for k, v in fault.needs_option.items())
    }


def build_plant(name: str, setting: Setting, data: Catalog | None = None) -> Plant:
    """Return the plant of an archetype with its options settled."""
    if data is None:
        return _shipped_plant(name, tuple(sorted(setting.items())))
    faults = faults_of(name, setting, data)
    effects = {f.id: tuple(effect(e) for e in f.effects) for f in faults.values()}
    return Plant(blueprint(name, setting, data), effects)


@lru_cache(maxsize=64)
def _shipped_plant(name: str, setting: tuple[tuple[str, str], ...]) -> Plant:
    return build_plant(name, dict(setting), catalog())
