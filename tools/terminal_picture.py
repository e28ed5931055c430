"""Lines of a terminal as a picture: ``catchpan demo | python -m tools.terminal_picture A B OUT``.

Reads text, keeps the lines from the first that holds A up to the last before one that holds B,
and writes them as an SVG in a plain monospace font, light or dark as the reader's screen.
"""

import sys
from html import escape
from pathlib import Path

LINE_PX = 19
CHARACTER_PX = 8.6
MARGIN_PX = 18

STYLE = """
text { font: 14px 'DejaVu Sans Mono', 'Liberation Mono', Menlo, Consolas, monospace; fill: #1b1f24 }
.head { font-weight: bold; fill: #0b5c55 } .care { fill: #8a3b00 } .said { fill: #0b3d91 }
rect { fill: #fbfaf7; stroke: #c9c4b8 }
@media (prefers-color-scheme: dark) {
text { fill: #e6e3da } .head { fill: #6fd3c7 } .care { fill: #ffb27a } .said { fill: #9cc1ff }
rect { fill: #17191c; stroke: #3a3d42 } }
"""


def kept(lines: list[str], first: str, last: str) -> list[str]:
    """Return the lines from the first holding ``first`` to before the next holding ``last``."""
    start = next(i for i, line in enumerate(lines) if first in line)
    end = next(i for i, line in enumerate(lines) if i > start and last in line)
    return lines[start:end]


def kind(line: str) -> str:
    """Name how a line is shown: a heading, a caution, something typed, or plain."""
    if line.startswith("-- "):
        return "head"
    if line.startswith("CAUTION"):
        return "care"
    return "said" if line.startswith((">", "V, or", "ohm, or", "A, or")) else ""


def picture(lines: list[str]) -> str:
    """Return the lines as an SVG."""
    width = MARGIN_PX * 2 + CHARACTER_PX * max(len(line) for line in lines)
    height = MARGIN_PX * 2 + LINE_PX * len(lines)
    rows = [
        f'<text x="{MARGIN_PX}" y="{MARGIN_PX + LINE_PX * (i + 0.75):.0f}" class="{kind(line)}" '
        f'xml:space="preserve">{escape(line)}</text>'
        for i, line in enumerate(lines)
    ]
    return "\n".join(
        [
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height}" '
                'role="img" aria-label="A service call in the terminal">'
            ),
            f"<style>{STYLE}</style>",
            f'<rect x="0.5" y="0.5" width="{width - 1:.0f}" height="{height - 1}" rx="8"/>',
            *rows,
            "</svg>\n",
        ]
    )


def main() -> None:
    """Read standard input and write the picture."""
    first, last, out = sys.argv[1:4]
    lines = [line.rstrip() for line in sys.stdin.read().splitlines()]
    Path(out).write_text(picture(kept(lines, first, last)), encoding="utf-8")


if __name__ == "__main__":
    main()
