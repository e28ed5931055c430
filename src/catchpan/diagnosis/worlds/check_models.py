"""Compiling the checks and proofs of a catalog over the settled worlds of every setting."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from catchpan.catalog.entry import CheckEntry, ProofEntry
from catchpan.catalog.load import Catalog
from catchpan.catalog.system import options_of, prior_of_value
from catchpan.diagnosis.worlds.bench import NEVER, Bench, Conditions
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import CheckModel, NumericReading, Outcome
from catchpan.diagnosis.worlds.likelihood import (
    RESET_LABELS,
    RESET_OUTCOMES,
    Table,
    answers_table,
    hazard_dollars,
    history_table,
    normalised,
    option_table,
    proof_table,
    reset_table,
    with_mistakes,
)
from catchpan.diagnosis.worlds.panel import Panel
from catchpan.diagnosis.worlds.panel_likelihood import PanelView
from catchpan.diagnosis.worlds.panel_quantity import PanelLook
from catchpan.diagnosis.worlds.severity import graded_conditions, severity_spread
from catchpan.diagnosis.worlds.working import seen_working

ABSENT = Outcome("absent", "There is none here")
OUTSIDE_LIKE_INSIDE = 0.8
"""How far a fault outside the library shows what the faults inside show on the whole (assumed).

The rest is spread evenly over the answers. What physics cannot know (work done lately, weather)
is as frequent outside as inside.
"""

INSTRUMENT_SHARE = 0.02
"""Spread of an instrument reading where a check states none, as a share of the reading."""


@dataclass
class SettledWorlds:
    """The worlds of one setting with the bench they are simulated on.

    ``conditions`` is what is there in each world, ``showing`` what of it shows just now, ``roots``
    what of it arose by itself.
    """

    bench: Bench
    conditions: Sequence[Conditions]
    showing: Sequence[Conditions]
    roots: Sequence[Conditions]

    @cached_property
    def membership(self) -> tuple[NDArray[np.bool_], list[str]]:
        """Which conditions each world holds, and the conditions' names column by column."""
        names = sorted(frozenset[str]().union(*self.conditions))
        column = {name: j for j, name in enumerate(names)}
        matrix = np.zeros((len(self.conditions), len(names)), dtype=np.bool_)
        for i, world in enumerate(self.conditions):
            matrix[i, [column[c] for c in world]] = True
        return matrix, names

    def holds_any(self, names: frozenset[str]) -> NDArray[np.bool_]:
        """Say which worlds hold at least one of the conditions, shape (worlds,)."""
        membership, columns = self.membership
        return np.asarray(membership[:, [name in names for name in columns]].any(axis=1))

    def shown(
        self, probe: str, sets: Sequence[Conditions] | None = None, *, whenever: bool = False
    ) -> Table | None:
        """Return what a probe shows in each world; None where this setting cannot take it.

        ``sets`` are conditions to put in the worlds' place; ``whenever``: it is told of the times
        when everything shows, not of now.
        """
        if probe not in self.bench.probes:
            return None
        column = list(self.bench.probes).index(probe)
        numbers = self._at_worst if whenever else self._now
        numbers = numbers if sets is None else self.bench.numbers(sets)
        return np.asarray(numbers[:, column])

    @cached_property
    def _now(self) -> Table:
        return self.bench.numbers(self.showing)

    @cached_property
    def _at_worst(self) -> Table:
        return self.bench.numbers(self.conditions)


@dataclass
class CheckCompiler:
    """All checks and proofs over all settings; the last rows are the worlds outside the library.

    There is one of these for each setting. ``weights`` are the prior weights of all other worlds,
    in the settings' order.
    """

    description: Description
    data: Catalog
    settings: Sequence[Mapping[str, str]]
    settled: Sequence[SettledWorlds]
    weights: NDArray[np.float64]
    panels: Mapping[str, Panel] = field(default_factory=dict)

    def models(self) -> dict[str, CheckModel]:
        """Every check and proof that at least one setting has."""
        found: dict[str, CheckModel] = {}
        for check in self.data.checks.values():
            if model := self._check(check):
                found[check.id] = model
        for proof in self.data.proofs.values():
            if model := self._proof(proof):
                found[proof.id] = model
        return found

    def _check(self, check: CheckEntry) -> CheckModel | None:
        if check.archetypes and self.description.archetype not in check.archetypes:
            return None
        if any(check.observe.of == o for o in self.description.options):
            return None
        outcomes = self._outcomes(check)
        if len(outcomes) < 2:
            return None
        if check.observe.quantity == "cycle":
            return self._of_panel(check, outcomes)
        rows = [self._rows(check, k) for k in range(len(self.settled))]
        if all(r is None for r in rows):
            return None
        return CheckModel(
            id=check.id,
            title=check.title,
            place=check.place,
            minutes=check.minutes.value,
            outcomes=(*outcomes, ABSENT) if any(r is None for r in rows) else outcomes,
            table=self._stacked(rows, len(outcomes), _outside_share(check)),
            keeps_outside=True,
            numeric=self._numeric(check),
            requires=frozenset(check.requires),
            hazard_cost=hazard_dollars(check.hazards, self._hazard_weights),
            phone=check.phone,
            group=check.group,
        )

    def _of_panel(self, check: CheckEntry, outcomes: tuple[Outcome, ...]) -> CheckModel | None:
        """Return a check of the running circuit; its table is that before any such reading."""
        panel = self.panels.get(check.observe.demand)
        if panel is None:
            return None
        spread = check.blur.value if check.blur is not None else 0.0
        look = PanelLook(panel.demand, check.observe.of, spread, check.reliability.value)
        view = PanelView.after(panel, ())
        mean, total = view.expected(look)
        outside = np.isnan(mean)
        return CheckModel(
            id=check.id,
            title=check.title,
            place=check.place,
            minutes=check.minutes.value,
            outcomes=outcomes,
            table=self._of_outside_too(view.table(look, outcomes)[~outside]).astype(np.float32),
            keeps_outside=True,
            numeric=NumericReading(
                np.where(outside, 0.0, mean),
                np.where(outside, 1.0, total),
                outside,
                unit=check.unit,
            ),
            requires=frozenset(check.requires),
            hazard_cost=hazard_dollars(check.hazards, self._hazard_weights),
            phone=check.phone,
            group=check.group,
            look=look,
        )

    @cached_property
    def _graded(self) -> frozenset[str]:
        return graded_conditions(self.data.faults)

    @cached_property
    def _hazard_weights(self) -> dict[str, float]:
        return {h.id: h.weight_dollars.value for h in self.data.hazards.values()}

    def _outcomes(self, check: CheckEntry) -> tuple[Outcome, ...]:
        if check.observe.quantity == "reset":
            pairs = zip(RESET_OUTCOMES, RESET_LABELS, strict=True)
            return tuple(Outcome(i, label) for i, label in pairs)
        if check.observe.quantity == "option":
            option = options_of(self.description.archetype, self.data).get(check.observe.of)
            return tuple(Outcome(v.id, v.title) for v in option.values) if option else ()
        return tuple(Outcome(a.id, a.label, a.low, a.high, a.danger) for a in check.answers)

    def _rows(self, check: CheckEntry, k: int) -> Table | None:
        """P(answer | world) for the worlds of one setting, or None if it has nothing to look at."""
        if not _fits(check.needs_option, self.settings[k]):
            return None
        worlds, quantity = self.settled[k], check.observe.quantity
        if quantity == "history":
            return history_table(*worlds.membership, check.answers)
        if quantity == "option":
            return self._option_rows(check, k)
        if quantity == "reset":
            return self._reset(check, worlds)
        blur = check.blur.value if check.blur is not None else 0.0
        return self._physical(
            check.id,
            worlds,
            lambda shown: with_mistakes(
                answers_table(shown, check.answers, blur), check.reliability.value
            ),
            whenever=check.complaint,
        )

    def _option_rows(self, check: CheckEntry, k: int) -> Table | None:
        """By the setting; what no setting tells apart (a plate) is as likely as it usually is."""
        size, name = len(self.settled[k].conditions), check.observe.of
        values = [o.id for o in self._outcomes(check)]
        here = self.settings[k].get(name)
        if here is not None:
            return option_table(values, [here] * size, check.reliability.value)
        option = options_of(self.description.archetype, self.data)[name]
        usual = [prior_of_value(option, v, self.settings[k]) for v in option.values]
        return np.tile(usual, (size, 1))

    def _physical(
        self,
        probe: str,
        worlds: SettledWorlds,
        table_of: Callable[[Table], Table],
        *,
        whenever: bool = False,
    ) -> Table | None:
        shown = worlds.shown(probe, whenever=whenever)
        if shown is None or np.isnan(shown).all():
            return None
        return table_of(shown)

    def _reset(self, check: CheckEntry, worlds: SettledWorlds) -> Table:
        resets = frozenset(check.observe.resets)
        present = np.array([bool(resets & c) for c in worlds.conditions])
        put_back = [c - resets for c in worlds.showing]
        names = list(worlds.bench.consequences)
        after = worlds.bench.after(put_back)
        again = np.full(len(put_back), NEVER, dtype=np.int8)
        for column, name in enumerate(names):
            mine = np.array([name in c for c in worlds.conditions])
            if name in resets:
                again = np.where(mine, np.minimum(again, after[:, column]), again)
        works = seen_working(worlds.bench, put_back)
        return reset_table(present, again, works, check.reliability.value)

    def _stacked(
        self, rows: Sequence[Table | None], width: int, like_inside: float
    ) -> NDArray[np.float32]:
        """One table over all settings and the world outside; absence is an answer of its own."""
        absent = any(r is None for r in rows)
        blocks, possible = [], []
        for block, worlds in zip(rows, self.settled, strict=True):
            if block is None:
                found = np.zeros((len(worlds.conditions), width + 1))
                found[:, -1] = 1.0
            elif absent:
                found = np.hstack([block, np.zeros((len(block), 1))])
            else:
                found = block
            blocks.append(found)
            possible.append(
                np.arange(found.shape[1]) == width
                if block is None
                else np.arange(found.shape[1]) < width
            )
        table = self._of_outside_too(np.vstack(blocks), np.array(possible), like_inside)
        return normalised(table).astype(np.float32)

    def _of_outside_too(
        self,
        inside: Table,
        possible: NDArray[np.bool_] | None = None,
        like_inside: float = OUTSIDE_LIKE_INSIDE,
    ) -> Table:
        """Add a row for the world outside of each setting: what the setting's faults show, blurred.

        ``possible``, shape (settings, answers), says which answers a setting allows: what is not
        there cannot be found, whatever is wrong.
        """
        ends = np.cumsum([len(worlds.conditions) for worlds in self.settled])
        outside = []
        for k, (end, worlds) in enumerate(zip(ends, self.settled, strict=True)):
            mine = slice(end - len(worlds.conditions), end)
            usual = self.weights[mine] @ inside[mine] / self.weights[mine].sum()
            even = np.ones(inside.shape[1]) if possible is None else possible[k].astype(np.float64)
            outside.append(like_inside * usual + (1.0 - like_inside) * even / even.sum())
        return np.vstack([inside, outside])

    def _numeric(self, check: CheckEntry) -> NumericReading | None:
        if not check.unit or check.observe.quantity in {"history", "reset", "option"}:
            return None
        means, degrees = [], []
        for worlds in self.settled:
            shown = worlds.shown(check.id)
            if shown is None:
                shown = np.full(len(worlds.conditions), np.nan)
            sound = float(shown[list(worlds.showing).index(frozenset())])
            means.append(shown)
            degrees.append(severity_spread(shown, sound, worlds.holds_any(self._graded)))
        mean = np.concatenate([*means, np.full(len(self.settled), np.nan)])
        dead = np.isnan(mean)
        blur = check.blur.value if check.blur is not None else 0.0
        spread = np.hypot(blur, INSTRUMENT_SHARE * np.where(np.isfinite(mean), np.abs(mean), 0.0))
        spread = np.maximum(
            np.hypot(spread, np.concatenate([*degrees, np.zeros(len(self.settled))])), 1e-12
        )
        return NumericReading(np.where(dead, 0.0, mean), spread, dead, unit=check.unit)

    def _proof_of_panel(self, proof: ProofEntry) -> list[Table | None]:
        """Judge each world by how far it reads from a sound one in the same weather."""
        panel = self.panels.get(proof.observe.demand)
        if panel is None:
            return [None for _ in self.settled]
        look = PanelLook(panel.demand, proof.observe.of, 0.0)
        mean, _ = PanelView.after(panel, ()).expected(look)
        found: list[Table | None] = []
        start = 0
        for worlds in self.settled:
            mine = mean[start : start + len(worlds.conditions)]
            sound = mine[list(worlds.conditions).index(frozenset())]
            found.append(proof_table(mine - sound, proof))
            start += len(worlds.conditions)
        return found

    def _proof(self, proof: ProofEntry) -> CheckModel | None:
        if proof.archetypes and self.description.archetype not in proof.archetypes:
            return None
        outcomes = (
            Outcome("pass", "Pass"),
            Outcome("fail", "Fail"),
            Outcome("too-close", "Too close to call"),
        )
        if proof.observe.quantity == "cycle":
            rows = self._proof_of_panel(proof)
        else:
            rows = [
                self._physical(proof.id, worlds, lambda shown: proof_table(shown, proof))
                for worlds in self.settled
            ]
        if all(r is None for r in rows):
            return None
        return CheckModel(
            id=proof.id,
            title=proof.title,
            place=proof.place,
            minutes=proof.minutes.value,
            outcomes=(*outcomes, ABSENT) if any(r is None for r in rows) else outcomes,
            table=self._stacked(rows, len(outcomes), OUTSIDE_LIKE_INSIDE),
            keeps_outside=True,
            requires=_demanded(proof.observe.demand) | frozenset(proof.requires),
            hazard_cost=hazard_dollars(proof.hazards, self._hazard_weights),
            proof=True,
        )


def _outside_share(check: CheckEntry) -> float:
    return 1.0 if check.observe.quantity in {"history", "option"} else OUTSIDE_LIKE_INSIDE


def _demanded(demand: str) -> frozenset[str]:
    return frozenset({f"call:{demand}"}) if demand != "off" else frozenset()


def _fits(needs: Mapping[str, Sequence[str]], setting: Mapping[str, str]) -> bool:
    return all(setting.get(option, "") in values for option, values in needs.items())
