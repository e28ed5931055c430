"""The two plots beside the page: what is named for what, and how far chances can be believed."""

from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path
from typing import Final

import matplotlib as mpl
import numpy as np
from matplotlib import pyplot as plt
from matplotlib.figure import Figure
from numpy.typing import NDArray

from benchmarks.identification.visits import CAUSES

Array = NDArray[np.float64]
Places = NDArray[np.int64]

HERE: Final = Path(__file__).parent
TENTHS: Final = tuple(np.linspace(0.0, 1.0, 11).tolist())
LEAST_VISITS: Final = 15
"""Bins with fewer are not drawn."""


def draw(truth: Places, chance: Mapping[str, Array], folder: Path = HERE) -> None:
    """Draw both plots into a folder; ``chance`` holds the shares of every visit, by how weighed."""
    mpl.use("svg")
    mpl.rcParams["svg.hashsalt"] = "catchpan"
    _save(_confusion(truth, chance), folder / "confusion.svg")
    _save(_calibration(truth, chance), folder / "calibration.svg")


def confusion(truth: Places, chance: Array) -> Array:
    """Return what is named first for each cause, as shares of its visits; rows are causes."""
    named = chance.argmax(axis=1)
    counts = np.zeros((len(CAUSES), len(CAUSES)))
    np.add.at(counts, (truth, named), 1.0)
    return np.asarray(counts / np.maximum(counts.sum(axis=1, keepdims=True), 1.0))


def calibration(truth: Places, chance: Array, bins: tuple[float, ...] = TENTHS) -> Array:
    """Return mean chance, share that is true, and number, by bin, of every cause in every visit.

    Not of the first alone: a cause given 20 % has to be true one time in five. Shape (bins, 3).
    """
    given, true = chance.ravel(), np.eye(len(CAUSES))[truth].ravel()
    rows = []
    for low, high in pairwise(bins):
        inside = (given > low) & (given <= high)
        count = int(inside.sum())
        rows.append((given[inside].mean(), true[inside].mean(), count) if count else (0, 0, 0))
    return np.array(rows, dtype=np.float64)


def _confusion(truth: Places, chance: Mapping[str, Array]) -> Figure:
    figure, all_axes = plt.subplots(1, len(chance), figsize=(5.6 * len(chance), 4.9), sharey=True)
    for axes, (how, shares) in zip(np.atleast_1d(all_axes), chance.items(), strict=True):
        found = confusion(truth, shares)
        axes.imshow(found, cmap="Blues", vmin=0.0, vmax=1.0)
        for (i, j), share in np.ndenumerate(found):
            if share >= 0.005:
                colour = "white" if share > 0.6 else "black"
                axes.text(
                    j, i, f"{100 * share:.0f}", ha="center", va="center", color=colour, size=7
                )
        places = np.arange(len(CAUSES))
        axes.set_xticks(places, CAUSES, rotation=45, ha="right", fontsize=7)
        axes.set_yticks(places, CAUSES, fontsize=7)
        axes.set_xlabel("named first, % of the row", fontsize=8)
        axes.set_title(how, fontsize=9)
    np.atleast_1d(all_axes)[0].set_ylabel("what it is", fontsize=8)
    return figure


def _calibration(truth: Places, chance: Mapping[str, Array]) -> Figure:
    figure, axes = plt.subplots(figsize=(5, 4.4))
    axes.plot([0, 100], [0, 100], color="grey", lw=0.8)
    for how, shares in chance.items():
        rows = calibration(truth, shares)
        given, true, count = rows[rows[:, 2] >= LEAST_VISITS].T
        error = np.sqrt(np.maximum(true * (1.0 - true), 0.01) / count)
        axes.errorbar(100 * given, 100 * true, 200 * error, fmt="o-", ms=3, lw=1, label=how)
    axes.set(xlabel="chance given to a cause, %", ylabel="true, % (bars: two standard errors)")
    axes.legend(frameon=False, fontsize=8)
    axes.grid(alpha=0.3)
    return figure


def _save(figure: Figure, path: Path) -> None:
    figure.tight_layout()
    figure.savefig(path, metadata={"Date": None})
    plt.close(figure)
