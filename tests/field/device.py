"""A device with the field app, and what a person does with it."""

from __future__ import annotations

import functools
import re
from typing import TYPE_CHECKING, Final

from tests.web.browsing import Complaints, axe_findings

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator

PATIENCE_MS: Final = 30_000
COMPILING_MS: Final = 600_000
"""A system nobody asked about before is compiled first."""
SAVES_DATA: Final = (
    "Object.defineProperty(navigator, 'connection', {value: {saveData: true}, configurable: true})"
)
WORDS: Final = "The house is hot and the outdoor fan is not spinning"


class Device:
    """A browser of its own.

    Parameters
    ----------
    saves_data
        Loads no more than needed: takes no kinds of system along.
    """

    def __init__(
        self, browser: Browser, address: str, size: tuple[int, int], *, saves_data: bool
    ) -> None:
        self.address = address
        width, height = size
        self.context = browser.new_context(viewport={"width": width, "height": height})
        self.context.set_default_timeout(PATIENCE_MS)
        if saves_data:
            self.context.add_init_script(SAVES_DATA)
        self.complaints = Complaints()
        self.complaints.listen_to(self.context)
        self.page = self.context.new_page()

    def close(self) -> None:
        self.context.close()

    def open(self, path: str = "") -> None:
        self.page.goto(f"{self.address}/field/{path}")
        self.page.wait_for_selector("h1")

    def heading(self) -> str:
        return self.page.locator("h1").inner_text()

    def press(self, words: str) -> None:
        """Press the button or link that says so."""
        names = re.compile(re.escape(words))
        found = self.page.get_by_role("button", name=names)
        found.or_(self.page.get_by_role("link", name=names)).first.click()

    def choose(self, name: str, label: str) -> None:
        """Choose one of a group of answers."""
        group = self.page.locator(f"fieldset:has(input[name={name}])")
        group.locator(f"label:has-text('{label}') input").check(force=True)

    def begin(self, kind: str, words: str = WORDS, season: str = "Cooling") -> None:
        """Begin a call about a kind of system and answer the questions about danger."""
        self.open()
        self.press("Begin a call")
        self.page.fill("#words", words)
        self.choose("season", season)
        self.choose("kind", kind)
        self.press("Go on")
        self.no_danger()

    def no_danger(self) -> None:
        """Answer the questions about danger, and wait until the system is compiled."""
        self.wait_for("Is any of this so right now?")
        self.press("None of these")
        self.page.wait_for_selector("[data-step]", timeout=COMPILING_MS)

    def wait_for(self, heading: str, patience_ms: int = PATIENCE_MS) -> None:
        named = self.page.get_by_role("heading", level=1, name=heading)
        named.wait_for(timeout=patience_ms)

    def arrive(self) -> None:
        """Leave the phone."""
        while not self.heading().startswith("What it may be"):
            words = "Enough asked" if self.step()[0] == "ask" else "t now"
            self.after(functools.partial(self.press, words))
        self.after(lambda: self.press("I have arrived"))

    def step(self) -> tuple[str, str]:
        """Return kind and target of the present step; empty where there is none."""
        found = self.page.locator("[data-step]")
        if found.count() == 0:
            return "", ""
        kind, target = found.get_attribute("data-kind"), found.get_attribute("data-step")
        return kind or "", target or ""

    def facts(self) -> str:
        return self.page.locator(".standing").inner_text()

    def after(self, act: object) -> None:
        """Do something and wait until what is shown has changed."""
        before = self.page.locator("main").inner_text()
        assert callable(act)
        act()
        self.page.wait_for_function(
            "before => document.querySelector('main')?.innerText !== before", arg=before
        )

    def answer(self, value: str) -> None:
        """Press an answer by its id, or type a number as an instrument shows it."""
        pressed = self.page.locator(f"[data-answer='{value}']")
        if pressed.count():
            self.after(pressed.first.click)
            return
        if value == "OL":
            self.after(lambda: self.press("It shows OL"))
            return
        self.page.locator(".number input").fill(value.split(maxsplit=1)[0])
        self.reach_for_the_button()
        self.after(lambda: self.press("Enter the reading"))

    def reach_for_the_button(self) -> None:
        """Pass from the last digit to the button: at once, unless a device is held by a person."""

    def tab(self, name: str) -> None:
        """Go to one of the pages of the call."""
        link = self.page.locator("nav.tabs").get_by_role("link", name=name)
        link.click()
        self.page.locator("nav.tabs a[aria-current]", has_text=name).wait_for()

    def known(self) -> list[str]:
        """Return what is known, the latest first."""
        self.tab("Known")
        return self.page.locator("ol.trail > li > span").all_inner_texts()

    def field(self, label: str) -> Locator:
        return self.page.get_by_label(label)

    def findings(self) -> list[str]:
        """Return what is wrong with the page: for anybody's access, or too wide."""
        found = axe_findings(self.page, self.context)
        wide = self.page.evaluate("document.documentElement.scrollWidth - innerWidth")
        small = self.page.evaluate(TOO_SMALL)
        return [*found, *([f"{wide} px too wide"] if wide > 0 else []), *small]


TOO_SMALL: Final = """
[...document.querySelectorAll('main button, main a.button, nav.tabs a, summary')]
  .filter(e => e.offsetParent !== null && e.getBoundingClientRect().height < 47.5)
  .filter(e => !e.closest('.caution'))
  .map(e => `${e.innerText}: ${e.getBoundingClientRect().height} px high`)
"""
"""Targets for a gloved thumb are at least 48 px high."""
