"""Every page at phone and desktop size: `.venv/bin/python -m tools.screenshots FOLDER`.

Starts the server with the invented shop, opens each page in Chromium, light and dark, and writes
one PNG for each. Pages of the field app that need a click to be reached are opened by their
address.
"""

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from playwright.sync_api import Page

from tests.web.browsing import SIZES, chromium
from tests.web.serving import served

CALL: Final = "demo-ceiling"
ENDED: Final = "demo-capacitor"
PAGES: Final = {
    "office-calls": "/",
    "office-call": f"/calls/{CALL}",
    "office-summary": f"/calls/{ENDED}/summary",
    "field-calls": "/field/",
    "field-begin": "/field/#/begin",
    "field-now": f"/field/#/call/{CALL}",
    "field-causes": f"/field/#/call/{CALL}/causes",
    "field-find": f"/field/#/call/{CALL}/find",
    "field-trail": f"/field/#/call/{CALL}/trail",
    "field-ladder": f"/field/#/call/{CALL}/ladder",
    "field-drain": f"/field/#/call/{CALL}/drain",
    "field-photos": f"/field/#/call/{CALL}/photos",
    "field-system": f"/field/#/call/{CALL}/system",
    "field-load": f"/field/#/call/{CALL}/load",
    "field-summary": f"/field/#/call/{ENDED}/summary",
}
"""Every page by the name of its picture."""

SETTLED_MS: Final = 1200
PATIENCE_MS: Final = 180_000


def pictures(page: Page, base: str, folder: Path, label: str) -> Iterator[Path]:
    """Open every page and write its picture."""
    for name, path in PAGES.items():
        page.goto("about:blank")
        page.goto(f"{base}{path}", wait_until="load")
        page.wait_for_timeout(SETTLED_MS)
        target = folder / f"{name}-{label}.png"
        page.screenshot(path=target, full_page=True)
        yield target


def main(words: list[str]) -> None:
    """Write all pictures into the folder named on the command line."""
    folder = Path(words[0])
    folder.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as home,
        served(Path(home)) as address,
        chromium() as browser,
    ):
        base = address.partition("/pair/")[0]
        for width, height in SIZES:
            for scheme in ("light", "dark"):
                context = browser.new_context(viewport={"width": width, "height": height})
                context.set_default_timeout(PATIENCE_MS)
                context.request.get(address, max_redirects=0)
                page = context.new_page()
                page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
                for file in pictures(page, base, folder, f"{width}x{height}-{scheme}"):
                    print(file)
                context.close()


if __name__ == "__main__":
    main(sys.argv[1:])
