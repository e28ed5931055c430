"""How well a set of panel readings fits each world, and what the next reading would then be.

Given a state and the weather, readings are jointly normal: instrument, unit, weather and the
stretch of degrees that the state stands for add up in one covariance. The sum over a world's nodes
takes the unknown degree of its faults out. Any one reading may be a slip; with two or more slips
nothing is known any more.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from catchpan.diagnosis.worlds.family import LIKELIHOOD_FLOOR, Outcome
from catchpan.diagnosis.worlds.likelihood import with_mistakes
from catchpan.diagnosis.worlds.panel import Panel, Weather, unit_covariance
from catchpan.diagnosis.worlds.panel_quantity import PARTS, WEATHER, Array, PanelLook, quantity

SLIP: Final = 0.02
"""Share of readings that are plain mistakes, as for every other instrument (assumed)."""

_FARTHEST = 50.0
"""A reading farther from what a state shows than so many spreads counts as if it were so far: it is
a slip anyway, and larger numbers would only eat up the digits of the readings beside it."""

_erf = np.vectorize(math.erf, otypes=[np.float64])


@dataclass(frozen=True)
class Taken:
    """One value read: the look, the value and its instrument's spread [SI], its chance of a slip.

    ``answers`` is how many answers its check has: the world outside the library finds each of them
    equally likely.
    """

    look: PanelLook
    value_si: float
    sd_si: float
    answers: int
    slip: float = SLIP


def independent(taken: Sequence[Taken]) -> list[Taken]:
    """Leave out what was worked out from two other readings that are there themselves."""
    told = {t.look.of for t in taken}
    return [t for t in taken if not set(PARTS.get(t.look.of, ("?",))) <= told]


@dataclass(frozen=True, eq=False)
class PanelView:
    """A panel after some readings, for the weather that is then known.

    Parameters
    ----------
    panel : Panel
        The panel.
    taken : tuple of Taken
        Readings of the circuit; none twice.
    weather : Weather
        With the readings of the weather in it.
    """

    panel: Panel
    taken: tuple[Taken, ...]
    weather: Weather

    @classmethod
    def after(cls, panel: Panel, taken: Sequence[Taken]) -> "PanelView":
        """Return the panel after readings of weather and circuit, in any order."""
        weather, rest = panel.usual, []
        for one in independent(taken):
            kind = quantity(one.look.of)
            if kind.is_weather:
                weather = weather.told(WEATHER.index(kind.weather[0][0]), one.value_si, one.sd_si)
            else:
                rest.append(one)
        return cls(panel, tuple(rest), weather)

    @cached_property
    def _readings(self) -> Array:
        return self.panel.readings(self.weather.mean_k)

    @cached_property
    def _within_degree(self) -> Array:
        return self.panel.degree_spread(self._readings)

    @cached_property
    def _slopes(self) -> Array:
        return self.panel.slopes(self.weather)

    def log_likelihood(self) -> Array:
        """Log-likelihood of all readings of the circuit in every world, shape (worlds,); finite.

        Scaled so that the world outside the library gets 1 over the answers for each reading.
        """
        outside = -float(sum(math.log(t.answers) for t in self.taken))
        if not self.taken:
            return np.zeros(len(self.panel.group_of))
        nodes = self._node_likelihood
        by_group = np.zeros(len(self.panel.group_start))
        np.add.at(by_group, self.panel.node_group, self.panel.node_weight * nodes)
        return self.panel.by_world(np.log(np.maximum(by_group, 1e-300)) + outside, outside)

    @cached_property
    def _node_likelihood(self) -> Array:
        """Density of the readings at each node over that of values anywhere in their spans."""
        return self._state_likelihood[self.panel.node_state]

    @cached_property
    def _state_likelihood(self) -> Array:
        spans = np.array([quantity(t.look.of).span for t in self.taken])
        slips = np.array([t.slip for t in self.taken])
        miss, precision, log_density = self._gauss
        sound = np.prod(1.0 - slips)
        found = sound * np.exp(log_density + np.log(spans).sum())
        narrow = np.diagonal(precision, axis1=1, axis2=2)
        own = np.einsum("sij,sj->si", precision, miss)
        own_log = 0.5 * np.log(narrow / (2.0 * np.pi)) - 0.5 * own**2 / narrow
        without = np.exp(log_density[:, None] - own_log + np.log(spans).sum() - np.log(spans))
        found += (without * (slips / (1.0 - slips))).sum(axis=1) * sound
        two = (slips.sum() ** 2 - (slips**2).sum()) / 2.0
        return np.asarray(found + max(two, LIKELIHOOD_FLOOR))

    @cached_property
    def _gauss(self) -> tuple[Array, Array, Array]:
        """Misses (states, m), precision (states, m, m) and log density of all readings."""
        miss, spread = self._misses()
        cover = self._covariance([t.look for t in self.taken])
        diagonal = np.arange(len(self.taken))
        cover[:, diagonal, diagonal] += spread**2
        farthest = _FARTHEST * np.sqrt(cover[:, diagonal, diagonal])
        miss = np.clip(miss, -farthest, farthest)
        precision = np.asarray(np.linalg.inv(cover), dtype=np.float64)
        _, logs = np.linalg.slogdet(cover)
        square = np.einsum("si,sij,sj->s", miss, precision, miss)
        size = len(self.taken) * math.log(2.0 * math.pi)
        return miss, precision, np.asarray(-0.5 * (square + logs + size) + self._stretch)

    def _misses(self) -> tuple[Array, Array]:
        """Return readings less what each state shows, and instruments' spreads: (states, m)."""
        shown = np.stack([self._mean(t.look) for t in self.taken], axis=1)
        values = [self._in_kelvin(t.look, t.value_si) for t in self.taken]
        read = np.stack([at for at, _ in values], axis=1)
        sd = np.array([t.sd_si for t in self.taken])
        slope = np.stack([slope for _, slope in values], axis=1)
        return read - shown, sd * slope

    @cached_property
    def _stretch(self) -> Array:
        """How much denser a chart other than the nameplate's makes its pressures, as a log."""
        found = np.zeros(len(self.panel.kind))
        for one in self.taken:
            _, slope = self._in_kelvin(one.look, one.value_si)
            usual = self._on_chart(one.look, one.value_si, 0)[1]
            found += np.log(slope / usual)
        return found

    def _in_kelvin(self, look: PanelLook, value: float) -> tuple[Array, Array]:
        """Return a value as the panel keeps it, by the chart of each state, and its slope."""
        each = [self._on_chart(look, value, k) for k in range(len(self.panel.charts))]
        at, slope = np.array(each).T
        return at[self.panel.chart], slope[self.panel.chart]

    def _on_chart(self, look: PanelLook, value: float, chart: int) -> tuple[float, float]:
        line = quantity(look.of).chart
        return self.panel.charts[chart].temperature(value, line) if line else (value, 1.0)

    def _mean(self, look: PanelLook) -> Array:
        on, air = quantity(look.of).rows()
        return np.asarray(self._readings @ on + air @ self.weather.mean_k)

    def _covariance(self, looks: Sequence[PanelLook]) -> Array:
        """Covariance of what several looks show, without their instruments, (states, m, m)."""
        rows = [quantity(look.of).rows() for look in looks]
        on, air = (np.array([r[k] for r in rows]) for k in (0, 1))
        tilt = np.einsum("mv,svc->smc", on, self._slopes) + air
        weather = np.einsum("smc,c,snc->smn", tilt, self.weather.sd_k**2, tilt)
        units = np.stack([on @ unit_covariance(k) @ on.T for k in (0, 1)])
        degree = self._within_degree @ on.T
        degrees = degree[:, :, None] * degree[:, None, :]
        return np.asarray(weather + units[self.panel.kind] + degrees)

    def _next(self, look: PanelLook) -> tuple[Array, Array]:
        """Mean and spread of a further reading in each state, given those taken."""
        mean = self._mean(look)
        if not self.taken:
            spread = np.sqrt(self._covariance([look])[:, 0, 0])
            return mean, spread
        cover = self._covariance([*(t.look for t in self.taken), look])
        along, alone = cover[:, :-1, -1], cover[:, -1, -1]
        miss, precision, _ = self._gauss
        gain = np.einsum("sij,sj->si", precision, along)
        known = alone - np.einsum("si,si->s", gain, along)
        return mean + np.einsum("si,si->s", gain, miss), np.sqrt(np.maximum(known, 1e-12))

    @cached_property
    def _node_share(self) -> Array:
        """Weight of each node within its group, given the readings taken."""
        weight = self.panel.node_weight
        if self.taken:
            weight = weight * self._node_likelihood
        total = np.zeros(len(self.panel.group_start))
        np.add.at(total, self.panel.node_group, weight)
        return np.asarray(weight / np.maximum(total, 1e-300)[self.panel.node_group])

    def table(
        self, look: PanelLook, outcomes: Sequence[Outcome], outside: Array | None = None
    ) -> Array:
        """P(answer | world) of a look given the readings taken, shape (worlds, answers).

        ``outside``: rows of the worlds outside the library; without it every answer alike.
        """
        mean, spread = self._next(look)
        below = np.stack([self._below(look, o.high, mean, spread) for o in outcomes], axis=1)
        low = np.stack([self._below(look, o.low, mean, spread, low=True) for o in outcomes], axis=1)
        by_state = np.maximum(below - low, 0.0)
        share = self._node_share[:, None] * by_state[self.panel.node_state]
        by_group = np.zeros((len(self.panel.group_start), len(outcomes)))
        np.add.at(by_group, self.panel.node_group, share)
        by_group = with_mistakes(by_group, look.reliability)
        beyond = 1.0 / len(outcomes) if outside is None else outside
        return self.panel.by_world(by_group, beyond)

    def _below(
        self, look: PanelLook, limit: float | None, mean: Array, spread: Array, *, low: bool = False
    ) -> Array:
        """Chance that a reading falls below a limit, in each state; none is open."""
        if limit is None:
            return np.full(len(mean), 0.0 if low else 1.0)
        at, slope = self._in_kelvin(look, limit)
        total = np.hypot(spread, look.instrument_sd * slope)
        z = np.round((at - mean) / (total * math.sqrt(2.0)), 4)
        distinct, place = np.unique(np.clip(z, -6.0, 6.0), return_inverse=True)
        return np.asarray(0.5 * (1.0 + _erf(distinct)))[place]

    def expected(self, look: PanelLook) -> tuple[Array, Array]:
        """Mean and spread of a look in every world [SI], the instrument's included.

        Shape (worlds,) both; not a number in the world outside the library.
        """
        mean, spread = self._next(look)
        line = quantity(look.of).chart
        if line:
            each = [chart.gauge_pa(mean, line) for chart in self.panel.charts]
            rows = (self.panel.chart, np.arange(len(mean)))
            mean, slope = (np.stack([e[k] for e in each])[rows] for k in (0, 1))
            spread = spread * slope
        states, share = self.panel.node_state, self._node_share
        centre, square = np.zeros((2, len(self.panel.group_start)))
        np.add.at(centre, self.panel.node_group, share * mean[states])
        away = (mean[states] - centre[self.panel.node_group]) ** 2
        np.add.at(square, self.panel.node_group, share * (spread[states] ** 2 + away))
        total = np.sqrt(square + look.instrument_sd**2)
        return self.panel.by_world(centre, np.nan), self.panel.by_world(total, np.nan)
