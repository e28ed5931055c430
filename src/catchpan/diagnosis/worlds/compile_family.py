"""From a description of a system to its compiled family of worlds."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from catchpan.catalog.entry import FaultEntry
from catchpan.catalog.load import Catalog, catalog
from catchpan.catalog.system import archetype, build_plant, options_of
from catchpan.diagnosis.worlds.bench import Bench, Conditions
from catchpan.diagnosis.worlds.check_models import CheckCompiler, SettledWorlds
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.enumerate_worlds import (
    PAIR_STAGE,
    Pair,
    Weighted,
    chains,
    grown,
    in_both_states,
    pairs,
    root_starts,
    singles,
)
from catchpan.diagnosis.worlds.family import (
    OTHER,
    Family,
    PlaceModel,
    RepairModel,
    World,
)
from catchpan.diagnosis.worlds.likelihood import hazard_dollars
from catchpan.diagnosis.worlds.panel_compile import panel_probes, panels_of
from catchpan.diagnosis.worlds.probe import Probe
from catchpan.diagnosis.worlds.settings import Settings, joint_settings
from catchpan.diagnosis.worlds.timely import timely_catalog
from catchpan.diagnosis.worlds.working import (
    harmless_alone,
    seen_struggling,
    seen_working,
    weights_of_calls,
    work_probes,
)
from catchpan.plant.part import Surroundings
from catchpan.plant.plant import Plant
from catchpan.plant.settle import settle

NO_FAULT_SHARE: Final = 0.02
OTHER_SHARE: Final = 0.03
PAIR_SHARE: Final = 0.09
"""Shares of calls with nothing wrong, with something outside the library, with two roots at once.

Assumed; one real call in ten was a second fault or a cause behind the repaired part
(facts/phone_interview).
"""

LEFT_BEHIND_SHARE: Final = 1.0e-6
"""Prior share of worlds with traces but no root; they matter once something was repaired."""


@dataclass(frozen=True)
class Costs:
    """What a minute of work costs, and leaving with the trouble unsolved.

    Assumed; a shop puts in its own. Leaving unsolved is a second visit, the owner's second day
    without heat or cooling, and often the customer.
    """

    dollars_per_minute: float = 2.0
    call_back_dollars: float = 1500.0


@dataclass(frozen=True)
class Size:
    """How much of the family is kept."""

    settings: int = 8
    pairs: int = 2500


def compile_family(
    description: Description,
    data: Catalog | None = None,
    costs: Costs | None = None,
    size: Size | None = None,
) -> Family:
    """Compile everything that could be wrong with a system, and what every check would show.

    Parameters
    ----------
    description : Description
        The system; options not given belong to the worlds.
    data : Catalog, optional
        The catalog; by default the one that comes with catchpan.
    costs : Costs, optional
        Money.
    size : Size, optional
        Numbers of joint settings and of pairs to keep; what is cut is in ``Family.cut_mass``.

    Raises
    ------
    UnknownName, ImpossibleOptions
        For an archetype or option that does not exist.
    """
    return _Compiler(description, data or catalog(), costs or Costs(), size or Size()).family()


class _Compiler:
    """The steps of compiling, one after the other."""

    def __init__(self, description: Description, data: Catalog, costs: Costs, size: Size) -> None:
        self.description, self.costs, self.size = description, costs, size
        self.data, self.is_shipped = timely_catalog(data, description), data is _shipped()
        self.settings: Settings = joint_settings(description, data, size.settings)
        self.demands = archetype(description.archetype, data).demands
        self.benches = [self._bench(setting) for setting in self.settings.kept]

    def _bench(self, setting: Mapping[str, str]) -> Bench:
        plant = build_plant(
            self.description.archetype,
            setting,
            None if self.is_shipped else self.data,
        )
        return new_bench(plant, self.description, self.data, self.demands)

    def roots(self, bench: Bench) -> dict[str, FaultEntry]:
        """Return the root faults that can be there, in a fixed order."""
        found = {n: self.data.faults[n] for n in sorted(bench.plant.conditions)}
        return {n: f for n, f in found.items() if f.kind == "root"}

    def family(self) -> Family:
        """Put it all together."""
        chosen, cut_pairs = self._chosen_pairs()
        worlds: list[World] = []
        weights: list[float] = []
        settled: list[SettledWorlds] = []
        for k, bench in enumerate(self.benches):
            found = self._worlds_of(bench, chosen[k])
            settled.append(_settled(bench, found, self._seen_share.keys()))
            worlds += [World(w.conditions, w.roots, k, w.calm) for w in found]
            weights += [w.weight * float(self.settings.weight[k]) for w in found]
        working = np.concatenate([seen_working(s.bench, s.showing) for s in settled])
        struggling = np.concatenate([seen_struggling(s.bench, s.showing) for s in settled])
        lasting = working & np.concatenate([_lasting(s) for s in settled])
        at_worst = np.concatenate([seen_working(s.bench, s.conditions) for s in settled])
        silent = at_worst & [bool(w.roots) for w in worlds]
        known = weights_of_calls([w.roots for w in worlds], np.array(weights), silent)
        worlds += self._outside()
        share = np.array(self.settings.weight) / np.sum(self.settings.weight)
        outside = OTHER_SHARE / (1.0 - OTHER_SHARE) * float(known.sum()) * share
        beyond = np.zeros(len(outside), dtype=np.bool_)
        panels = panels_of(self.description, self.data, settled)
        checks = CheckCompiler(
            self.description, self.data, self.settings.kept, settled, known, panels
        )
        return Family(
            worlds=tuple(worlds),
            log_prior=np.log(np.append(known, outside)),
            settings=self.settings.kept,
            checks=checks.models(),
            repairs=self._repairs(worlds),
            places=self._places(),
            kinds={f.id: f.kind for f in self.data.faults.values()},
            dollars_per_minute=self.costs.dollars_per_minute,
            call_back_dollars=self.costs.call_back_dollars,
            repair_still_owed=True,
            working=np.append(working, beyond),
            lasting=np.append(lasting, beyond),
            struggling=np.append(struggling, beyond),
            panels=panels,
            group_minutes=self._groups(),
            group_after={g.id: g.after for g in self.data.groups.values() if g.after},
            harmless=frozenset.intersection(*(self._harmless(b) for b in self.benches)),
            cut_mass=1.0 - (1.0 - self.settings.cut_mass) * (1.0 - cut_pairs * PAIR_SHARE),
        )

    def _outside(self) -> list[World]:
        """Return a world outside the library for each way the system may be built."""
        return [World(frozenset({OTHER}), frozenset({OTHER}), k) for k in range(len(self.benches))]

    @cached_property
    def _seen_share(self) -> dict[str, float]:
        """Share of moments at which each intermittent fault shows."""
        faults = self.data.faults.values()
        return {f.id: f.seen_share.value for f in faults if f.seen_share is not None}

    def _harmless(self, bench: Bench) -> frozenset[str]:
        """Return the conditions that alone keep nothing from working in the season, now or later.

        What fails only after days of running, a filter that trips the limit, is not harmless.
        """
        names = [*self.roots(bench), *bench.consequences]
        everything = frozenset(f.id for f in self.data.faults.values())
        absent = everything - frozenset(names)
        return harmless_alone(bench, names) | absent

    def _chosen_pairs(self) -> tuple[list[list[Pair]], float]:
        """Return the likeliest pairs over all settings, and the share of pairs cut."""
        every: list[tuple[float, int, Pair]] = []
        for k, bench in enumerate(self.benches):
            weight = float(self.settings.weight[k])
            found = pairs(bench, self.roots(bench), self.description)
            every += [(p.weight * weight, k, p) for p in found]
        every.sort(key=lambda item: (-item[0], item[1], sorted(item[2].roots)))
        kept = every[: self.size.pairs]
        chosen: list[list[Pair]] = [[] for _ in self.benches]
        for _, k, pair in kept:
            chosen[k].append(pair)
        total = sum(w for w, _, _ in every)
        return chosen, 1.0 - sum(w for w, _, _ in kept) / total if total else 0.0

    def _worlds_of(self, bench: Bench, chosen: Sequence[Pair]) -> list[Weighted]:
        roots = self.roots(bench)
        starts = root_starts(roots)
        ends = chains(bench, starts + [(p.roots, PAIR_STAGE) for p in chosen])
        alone = singles(bench, roots, self.description, ends[: len(starts)])
        single_share = 1.0 - NO_FAULT_SHARE - OTHER_SHARE - PAIR_SHARE
        found = [Weighted(frozenset(), frozenset(), NO_FAULT_SHARE)]
        found += [Weighted(w.conditions, w.roots, w.weight * single_share) for w in alone]
        found += [
            Weighted(end.conditions, p.roots, p.weight * PAIR_SHARE)
            for end, p in zip(ends[len(starts) :], chosen, strict=True)
        ]
        left = {w.conditions - w.roots for w in found} - {frozenset[str]()}
        traces: list[Conditions] = sorted(left, key=sorted)
        found += [Weighted(t, frozenset(), LEFT_BEHIND_SHARE / max(len(traces), 1)) for t in traces]
        return in_both_states(found, self._seen_share)

    def _repairs(self, worlds: Sequence[World]) -> dict[str, RepairModel]:
        present = frozenset().union(*(w.conditions for w in worlds))
        latent = {f.id for f in self.data.faults.values() if f.kind == "latent"}
        weights = {h.id: h.weight_dollars.value for h in self.data.hazards.values()}
        found = {}
        for r in self.data.repairs.values():
            known = present | latent
            fixes = {c for c in known if any(fnmatchcase(c, g) for g in r.fixes)}
            if fixes & present:
                found[r.id] = RepairModel(
                    id=r.id,
                    title=r.title,
                    place=r.place,
                    minutes=r.minutes.value,
                    dollars=r.parts_dollars.value,
                    fixes=frozenset(fixes),
                    success=r.success.value,
                    hazard_cost=hazard_dollars(r.hazards, weights),
                    requires=frozenset(r.requires),
                    refer=bool(r.refer),
                    proofs=tuple(r.proofs),
                    caller_safe=r.caller_safe,
                )
        return found

    def _groups(self) -> dict[str, float]:
        """Minutes of each group's set-up, with what it costs besides as minutes' worth."""
        rate = self.costs.dollars_per_minute
        return {
            g.id: g.minutes.value + (g.dollars.value / rate if g.dollars is not None else 0.0)
            for g in self.data.groups.values()
        }

    def _places(self) -> dict[str, PlaceModel]:
        weights = {h.id: h.weight_dollars.value for h in self.data.hazards.values()}
        location = self.description.options.get("location", "")
        found = {}
        for p in self.data.places.values():
            minutes = p.minutes_by_location.get(location, p.minutes.value)
            hazards = p.hazards_by_location.get(location, ())
            minutes += hazard_dollars(hazards, weights) / self.costs.dollars_per_minute
            cover = p.cover_minutes.value if p.cover_minutes is not None else 0.0
            found[p.id] = PlaceModel(p.id, p.title, minutes, {p.cover: cover} if p.cover else {})
        return found


def _settled(bench: Bench, worlds: Sequence[Weighted], wavering: Iterable[str]) -> SettledWorlds:
    known = frozenset(wavering)
    return SettledWorlds(
        bench,
        conditions=[w.conditions for w in worlds],
        showing=[w.showing(known) for w in worlds],
        roots=[w.roots for w in worlds],
    )


def _lasting(settled: SettledWorlds) -> NDArray[np.bool_]:
    """Say which worlds go on working: as they are, and once what passes by itself has passed.

    Ice on a coil keeps the limit from tripping only until it has melted.
    """
    bench = settled.bench
    return _runs_on(bench, settled.conditions) & _runs_on(bench, settled.roots)


def _runs_on(bench: Bench, sets: Sequence[Conditions]) -> NDArray[np.bool_]:
    """Say which sets of conditions still work once everything has arisen that is likely to."""
    return seen_working(bench, grown(bench, sets))


NOT_PROBED: Final = frozenset({"history", "reset", "option"})
ON_PANELS: Final = frozenset({"cycle"})


def new_bench(
    plant: Plant,
    description: Description,
    data: Catalog,
    demands: Sequence[str],
    left_out: frozenset[str] = ON_PANELS,
) -> Bench:
    """Put a plant on a bench with every probe it has a place for.

    Parameters
    ----------
    plant : Plant
        The system with its options settled.
    description : Description
        Gives season and weather.
    data : Catalog
        Checks, proofs and consequences.
    demands : sequence of str
        Demands the archetype knows.
    left_out : frozenset of str, optional
        Quantities that are not read one by one; by default those a family keeps on its panels.
    """
    signals: set[str] = set()
    for demand in demands:
        signals |= set(settle(plant, plant.set_up([()]), Surroundings(demand)).signals)
    probes = {
        **{c.id: Probe(c.observe) for c in data.checks.values()},
        **{p.id: Probe(p.observe) for p in data.proofs.values()},
        **work_probes(description),
        **panel_probes(demands),
    }
    physical = {
        name: probe
        for name, probe in probes.items()
        if probe.observe.quantity not in NOT_PROBED | left_out
        and probe.demand in demands
        and probe.fits(plant, frozenset(signals))
    }
    consequences = {
        name: data.faults[name]
        for name in plant.conditions
        if data.faults[name].kind == "consequence"
    }
    return Bench(plant, description, demands, physical, consequences)


def _shipped() -> Catalog:
    return catalog()


def titles(data: Catalog) -> Mapping[str, str]:
    """Return the title of every fault, and of the world outside the library."""
    found = {f.id: f.title for f in data.faults.values()}
    found[OTHER] = "None of these"
    return found


def options_unknown(family: Family, data: Catalog, name: str) -> tuple[str, ...]:
    """Return the options of the archetype that the family's settings leave open."""
    return tuple(o for o in options_of(name, data) if len({s.get(o) for s in family.settings}) > 1)
