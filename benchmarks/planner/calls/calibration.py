"""How well "this repair gets it working" comes true: reliability, Brier and log score."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

BINS: Final = (0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0)
LEAST: Final = 1e-6


@dataclass(frozen=True)
class Bin:
    """Forecasts between two chances: how many, their mean, and the share that came true."""

    low: float
    high: float
    count: int
    said: float
    came: float

    @property
    def error(self) -> float:
        """One standard error of the share that came true, were the forecasts right."""
        return float(np.sqrt(max(self.said * (1.0 - self.said), 1e-9) / max(self.count, 1)))


@dataclass(frozen=True)
class Score:
    """Scores of a set of forecasts of yes or no.

    Parameters
    ----------
    brier
        Mean square error; it is ``reliability - resolution + uncertainty`` up to what the bins
        hide (Murphy, J. Appl. Meteorol. 12, 1973).
    log
        Mean of minus the natural log of the chance given to what came.
    log_reliability, log_resolution
        The same parts of the log score (Broecker, Q. J. R. Meteorol. Soc. 135, 2009).
    """

    count: int
    bins: tuple[Bin, ...]
    brier: float
    reliability: float
    resolution: float
    uncertainty: float
    log: float
    log_reliability: float
    log_resolution: float
    log_uncertainty: float


def score(forecasts: Sequence[tuple[float, bool]]) -> Score:
    """Return the scores of forecasts, at least one, each with whether it came true."""
    said = np.array([p for p, _ in forecasts], dtype=np.float64)
    came = np.array([ok for _, ok in forecasts], dtype=np.float64)
    place = np.clip(np.digitize(said, BINS[1:-1]), 0, len(BINS) - 2)
    bins = tuple(
        Bin(BINS[k], BINS[k + 1], int(n), float(said[mine].mean()), float(came[mine].mean()))
        for k in range(len(BINS) - 1)
        if (n := (mine := place == k).sum())
    )
    weight = np.array([b.count for b in bins]) / len(said)
    f, o = np.array([b.said for b in bins]), np.array([b.came for b in bins])
    base = float(came.mean())
    right = np.where(came > 0, said, 1.0 - said)
    return Score(
        count=len(said),
        bins=bins,
        brier=float(((said - came) ** 2).mean()),
        reliability=float(weight @ (f - o) ** 2),
        resolution=float(weight @ (o - base) ** 2),
        uncertainty=base * (1.0 - base),
        log=float(-np.log(np.clip(right, LEAST, 1.0)).mean()),
        log_reliability=float(weight @ [_gap(a, b) for a, b in zip(o, f, strict=True)]),
        log_resolution=float(weight @ [_gap(a, base) for a in o]),
        log_uncertainty=_gap(base, 0.5) * -1.0 + float(np.log(2.0)),
    )


def _gap(came: float, said: float) -> float:
    """Return the Kullback-Leibler distance of two chances of yes, in nats."""
    a, b = (float(np.clip(x, LEAST, 1.0 - LEAST)) for x in (came, said))
    return a * float(np.log(a / b)) + (1.0 - a) * float(np.log((1.0 - a) / (1.0 - b)))
