"""A real browser on a real server: sizes, what a page must not do, and accessibility."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from playwright.sync_api import sync_playwright

from tools import browser
from tools.shell import ROOT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page

PHONE: Final = (390, 844)
DESKTOP: Final = (1280, 800)
SIZES: Final = (PHONE, DESKTOP)
AXE: Final = ROOT / "field" / "node_modules" / "axe-core" / "axe.min.js"
SERIOUS: Final = frozenset({"serious", "critical"})


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start the browser of the set-up, as long as it is needed."""
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=browser.get(),
            args=["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"],
        )
        try:
            yield started
        finally:
            started.close()


@dataclass
class Complaints:
    """What the pages of a context complained about in the console, or failed to load."""

    found: list[str] = field(default_factory=list)

    def listen_to(self, context: BrowserContext) -> None:
        """Note errors and warnings of every page of a context."""
        context.on("console", self._console)
        context.on("weberror", lambda error: self.found.append(f"uncaught: {error.error}"))

    def _console(self, message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"}:
            self.found.append(f"{message.type}: {message.text} ({message.location.get('url')})")


def axe_findings(page: Page, context: BrowserContext) -> list[str]:
    """Return the serious findings of axe-core on a page, as lines.

    The page's own policy forbids foreign scripts; so axe runs in a world of its own.
    """
    session = context.new_cdp_session(page)
    frame = session.send("Page.getFrameTree")["frameTree"]["frame"]["id"]
    asked = {"frameId": frame, "worldName": "axe"}
    world = session.send("Page.createIsolatedWorld", asked)["executionContextId"]
    for script in (AXE.read_text(encoding="utf-8"), "axe.run().then(r => r.violations)"):
        answer: dict[str, Any] = session.send(
            "Runtime.evaluate",
            {
                "expression": script,
                "contextId": world,
                "awaitPromise": True,
                "returnByValue": script.startswith("axe.run"),
            },
        )
        if "exceptionDetails" in answer:
            raise RuntimeError(str(answer["exceptionDetails"])[:500])
    session.detach()
    return [
        f"{v['id']}: {v['help']} ({', '.join(n['target'][0] for n in v['nodes'][:3])})"
        for v in answer["result"]["value"]
        if v["impact"] in SERIOUS
    ]
