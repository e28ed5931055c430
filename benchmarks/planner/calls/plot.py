"""The plots of the study, as plain SVG that a diff can show."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchmarks.planner.calls.calibration import Score

WIDTH: Final = 640
HEIGHT: Final = 420
LEFT, TOP, RIGHT, BOTTOM = 60, 40, 20, 50
COLOURS: Final = ("#888888", "#0b6e4f", "#c8553d", "#d9a404", "#4a6fa5", "#7b4b94", "#222222")
DASHES: Final = ("4 3", "", "8 3", "2 2", "10 3 2 3", "6 2", "1 3")
MOST_MINUTES: Final = 480.0


def reliability_plot(score: Score, title: str) -> str:
    """Return the reliability plot: what was said against what came, with two standard errors."""
    parts = [_text(LEFT, 24, f"Said and came true: {title}", 16), *_axes("said", "came true", 1.0)]
    parts.append(_line([(0.0, 0.0), (1.0, 1.0)], 1.0, "#888888", "4 3"))
    for b in score.bins:
        reach = 2.0 * b.error
        ends = [(b.said, max(b.came - reach, 0.0)), (b.said, min(b.came + reach, 1.0))]
        parts.append(_line(ends, 1.0, "#0b6e4f", ""))
        x, y = _place(b.said, b.came, 1.0)
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="#0b6e4f"/>')
        parts.append(_text(x + 8, y + 14, str(b.count), 11))
    return _page(parts)


def distribution_plot(minutes: Mapping[str, Sequence[float]]) -> str:
    """Return, for every policy, the share of calls that take at most so many minutes."""
    parts = [_text(LEFT, 24, "Share of calls done within so many minutes", 16)]
    parts += _axes("minutes", "share of calls", MOST_MINUTES)
    for k, (name, values) in enumerate(minutes.items()):
        colour, dash = COLOURS[k % len(COLOURS)], DASHES[k % len(DASHES)]
        ordered = np.sort(np.array(values))
        grid = np.linspace(0.0, MOST_MINUTES, 121)
        share = np.searchsorted(ordered, grid, side="right") / len(ordered)
        points = list(zip(grid.tolist(), share.tolist(), strict=True))
        parts.append(_line(points, MOST_MINUTES, colour, dash))
        y = HEIGHT - BOTTOM - 20.0 - 18.0 * (len(minutes) - 1 - k)
        parts.append(
            f'<line x1="{WIDTH - 230}" y1="{y - 4}" x2="{WIDTH - 195}" y2="{y - 4}" '
            f'stroke="{colour}" stroke-width="2" stroke-dasharray="{dash}"/>'
        )
        parts.append(_text(WIDTH - 188, y, name, 12))
    return _page(parts)


def _place(x: float, y: float, span: float) -> tuple[float, float]:
    across = LEFT + x / span * (WIDTH - LEFT - RIGHT)
    return across, HEIGHT - BOTTOM - y * (HEIGHT - TOP - BOTTOM)


def _line(points: Sequence[tuple[float, float]], span: float, colour: str, dash: str) -> str:
    placed = (_place(x, y, span) for x, y in points)
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in placed)
    style = f'stroke="{colour}" stroke-width="2" stroke-dasharray="{dash}"'
    return f'<polyline points="{path}" fill="none" {style}/>'


def _axes(across: str, up: str, span: float) -> Iterator[str]:
    yield _line([(0.0, 1.0), (0.0, 0.0), (span, 0.0)], span, "#222222", "")
    for k in range(5):
        x, base = _place(span * k / 4, 0.0, span)
        label = f"{span * k / 4:.2f}" if span <= 1.0 else f"{span * k / 4:.0f}"
        yield _text(x - 10, base + 18, label, 12)
        _, y = _place(0.0, k / 4, span)
        yield _text(LEFT - 40, y + 4, f"{k / 4:.2f}", 12)
    yield _text(WIDTH - 120, HEIGHT - 12, across, 13)
    yield _text(8, TOP - 4, up, 13)


def _text(x: float, y: float, words: str, size: int) -> str:
    safe = words.replace("&", "&amp;").replace("<", "&lt;")
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" '
        f'font-family="sans-serif" fill="#222222">{safe}</text>'
    )


def _page(parts: Sequence[str]) -> str:
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}">'
    ground = f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>'
    return "\n".join([head, ground, *parts, "</svg>"]) + "\n"
