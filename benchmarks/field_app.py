"""How fast the field app is in Chromium: `python -m benchmarks.field_app`.

Plays the demo's call in the browser with the full family of worlds, with the invented shop's own
server, and reads the browser's own measurements: each next step (belief, plan and what is left out,
after one more answer), the first and the repeated opening of the app, and what is loaded for it.
"""

from __future__ import annotations

import gzip
import os
import statistics
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, Final

from catchpan.web.serve import APP
from tests.field.demo_call import DemoCall
from tests.field.device import Device
from tests.web.browsing import PHONE, chromium
from tests.web.serving import served

if TYPE_CHECKING:
    from playwright.sync_api import Page

MEASURED_MS: Final = """
name => performance.getEntriesByName(name).map(entry => entry.duration)
"""
SHOWN_MS: Final = """
() => performance.getEntriesByType('paint').find(e => e.name === 'first-contentful-paint').startTime
"""
OPENINGS: Final = 5
READING_S: Final = 1.0
"""Nobody reads a step and answers it in less; meanwhile the app goes through the next ones."""

SLOW: Final = 0.95


REACH_S: Final = 0.5
"""No thumb gets from the last digit to the button in less."""


class HeldByAPerson(Device):
    """A device on which a number is typed first and then entered."""

    def reach_for_the_button(self) -> None:
        """Take the time a thumb takes."""
        time.sleep(REACH_S)


class ReadByAPerson(DemoCall):
    """The demo's call, every step read before it is answered."""

    def _answer(self, device: Device, kind: str, target: str) -> None:
        time.sleep(READING_S)
        super()._answer(device, kind, target)


def script_bytes() -> int:
    """Return the compressed size of all script the first opening loads."""
    page = (APP / "index.html").read_text(encoding="utf-8")
    named = [f for f in (APP / "assets").glob("*.js") if f.name in page]
    return sum(len(gzip.compress(f.read_bytes(), 9)) for f in named)


def opened_ms(page: Page, address: str) -> float:
    """Open the app anew and return when it showed its first contents."""
    page.goto("about:blank")
    page.goto(f"{address}/field/")
    page.wait_for_selector("h1")
    return float(page.evaluate(SHOWN_MS))


def row(what: str, values: list[float], budget: str) -> str:
    """Return a line of the table."""
    ranked = sorted(values)
    middle, most = statistics.median(ranked), ranked[-1]
    slow = ranked[min(int(SLOW * len(ranked)), len(ranked) - 1)]
    return f"| {what} | {len(values)} | {middle:.0f} | {slow:.0f} | {most:.0f} | {budget} |"


def main() -> None:
    """Print the table."""
    before = os.getloadavg()[0]
    with (
        tempfile.TemporaryDirectory() as home,
        served(Path(home)) as printed,
        chromium() as browser,
    ):
        address = printed.partition("/pair/")[0]
        device, call = HeldByAPerson(browser, address, PHONE, saves_data=True), ReadByAPerson()
        device.context.request.get(printed, max_redirects=0)
        first = [opened_ms(device.page, address)]
        device.page.wait_for_function("() => navigator.serviceWorker.controller !== null")
        again = [opened_ms(device.page, address) for _ in range(OPENINGS)]
        call.begin(device)
        call.play(device)
        first_step, steps, shown = (
            [float(value) for value in device.page.evaluate(MEASURED_MS, name)]
            for name in ("first step", "next step", "shown")
        )
        device.close()
    print("| what | times | median [ms] | 95th percentile [ms] | longest [ms] | budget [ms] |")
    print("|---|---|---|---|---|---|")
    print(row("next step, full family", steps, "50"))
    print(row("first step, when the call is opened", first_step, ""))
    print(row("from an answer to what it shows", shown, ""))
    print(row("first opening, to the first contents", first, ""))
    print(row("repeated opening, to the first contents", again, "1000"))
    print(f"\nscript of the first opening, compressed: {script_bytes() / 1000:.0f} kB (budget 300)")
    print(f"load average of the machine before and after: {before:.1f}, {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
