"""Every page at phone and desktop size: `.venv/bin/python -m tools.screenshots FOLDER [NAME ...]`.

Starts the server with the invented shop, opens each page in Chromium, light and dark, and writes
one PNG for each; with names only those pages. Every page is opened by its address.
"""

import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from playwright.sync_api import Page

from tests.web.browsing import SIZES, chromium
from tests.web.serving import served

CALL: Final = "demo-attic"
ENDED: Final = "demo-capacitor"
ASKING: Final = "demo-warm-air"
GAUGED: Final = "demo-weak-cooling"
NARROW: Final = (360, 740)
"""The smallest phones still in use."""

PAGES: Final = {
    "office-calls": ("/", "h1"),
    "office-call": (f"/calls/{CALL}", "h1"),
    "office-summary": (f"/calls/{ENDED}/summary", "h1"),
    "office-file": (f"/calls/{ENDED}/file", "h1"),
    "field-calls": ("/field/", "ul.calls"),
    "field-new": ("/field/#/new", "main h1"),
    "field-step": (f"/field/#/call/{CALL}", "[data-step]"),
    "field-why": (f"/field/#/call/{GAUGED}/why", "main h1"),
    "field-wiring": (f"/field/#/call/{CALL}/drawings/wiring", "main h1"),
    "field-drain": (f"/field/#/call/{CALL}/drawings/drain", "main h1"),
    "field-air": (f"/field/#/call/{GAUGED}/drawings/air", "main h1"),
    "field-cycle": (f"/field/#/call/{GAUGED}/drawings/cycle", "main h1"),
    "field-moist": (f"/field/#/call/{GAUGED}/drawings/moist", "main h1"),
    "field-targets": (f"/field/#/call/{GAUGED}/drawings/targets", "[data-targets]"),
    "field-known": (f"/field/#/call/{CALL}/known", "main h1"),
    "field-find": (f"/field/#/call/{CALL}/find", "main h1"),
    "field-check": (f"/field/#/call/{GAUGED}/find/panel%2Fsuperheat", "main h1"),
    "field-note": (f"/field/#/call/{CALL}/note", "main h1"),
    "field-system": (f"/field/#/call/{CALL}/system", "main h1"),
    "field-end": (f"/field/#/call/{CALL}/end", "main h1"),
    "field-phone": (f"/field/#/call/{ASKING}", "main h1"),
    "field-summary": (f"/field/#/call/{ENDED}", "main h1"),
}
"""Every page by the name of its picture: its address, and what is there once it is drawn."""

COMPILING: Final = "One moment"
"""The heading of a call that is still being worked out."""

SETTLED_MS: Final = 400
PATIENCE_MS: Final = 600_000
SAVES_DATA: Final = (
    "Object.defineProperty(navigator, 'connection', {value: {saveData: true}, configurable: true})"
)
"""What keeps the app from taking all kinds of system along, which would take minutes."""


def pictures(
    page: Page, base: str, folder: Path, label: str, wanted: Sequence[str]
) -> Iterator[Path]:
    """Open the wanted pages and write their pictures, as tall as they are."""
    size = page.viewport_size
    for name in wanted:
        path, drawn = PAGES[name]
        page.goto("about:blank")
        page.goto(f"{base}{path}", wait_until="load")
        page.locator(drawn).first.wait_for()
        page.get_by_role("heading", name=COMPILING).wait_for(state="detached")
        page.wait_for_timeout(SETTLED_MS)
        tall = int(page.evaluate("document.documentElement.scrollHeight"))
        if size is not None:
            page.set_viewport_size({"width": size["width"], "height": max(size["height"], tall)})
        target = folder / f"{name}-{label}.png"
        page.screenshot(path=target)
        if size is not None:
            page.set_viewport_size(size)
        yield target


def main(words: list[str]) -> None:
    """Write the pictures into the folder named on the command line."""
    folder = Path(words[0])
    folder.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as home,
        served(Path(home)) as address,
        chromium() as browser,
    ):
        base = address.partition("/pair/")[0]
        for width, height in (*SIZES, NARROW):
            for scheme in ("light", "dark"):
                context = browser.new_context(viewport={"width": width, "height": height})
                context.set_default_timeout(PATIENCE_MS)
                context.add_init_script(SAVES_DATA)
                context.request.get(address, max_redirects=0)
                page = context.new_page()
                page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
                label = f"{width}x{height}-{scheme}"
                for file in pictures(page, base, folder, label, words[1:] or list(PAGES)):
                    print(file)
                context.close()


if __name__ == "__main__":
    main(sys.argv[1:])
